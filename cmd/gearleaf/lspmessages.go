package main

import (
	"encoding/json"

	"gearleaf/sheet/editor"
)

// The messages of the Language Server Protocol 3.17 that are used here, with
// the fields that are read or written. The published packages with all of its
// types have 87,000 lines and add five megabytes to the program.

type (
	wireDocument struct {
		URI     string `json:"uri"`
		Version int    `json:"version"`
		Text    string `json:"text"`
	}
	wireIdentifier struct {
		URI     string `json:"uri"`
		Version *int   `json:"version,omitempty"`
	}
	wireLocation struct {
		URI   string       `json:"uri"`
		Range editor.Range `json:"range"`
	}
	wireEdit struct {
		Range   editor.Range `json:"range"`
		NewText string       `json:"newText"`
	}
	wireMarkup struct {
		Kind  string `json:"kind"`
		Value string `json:"value"`
	}
	wireCommand struct {
		Title     string `json:"title"`
		Command   string `json:"command"`
		Arguments []any  `json:"arguments,omitempty"`
	}
)

// markdownText returns text as a message's Markdown; nil for none.
func markdownText(text string) *wireMarkup {
	if text == "" {
		return nil
	}
	return &wireMarkup{"markdown", text}
}

type initializeParams struct {
	ProcessID  *int   `json:"processId"`
	RootURI    string `json:"rootUri"`
	Workspaces []struct {
		URI string `json:"uri"`
	} `json:"workspaceFolders"`
	Capabilities struct {
		Workspace struct {
			InlayHint struct {
				RefreshSupport bool `json:"refreshSupport"`
			} `json:"inlayHint"`
		} `json:"workspace"`
	} `json:"capabilities"`
}

type openParams struct {
	TextDocument wireDocument `json:"textDocument"`
}

type changeParams struct {
	TextDocument   wireIdentifier `json:"textDocument"`
	ContentChanges []struct {
		Range *editor.Range `json:"range"`
		Text  string        `json:"text"`
	} `json:"contentChanges"`
}

// documentParams are those of every request about one document; the fields
// that a request does not have are zero.
type documentParams struct {
	TextDocument wireIdentifier    `json:"textDocument"`
	Position     editor.Position   `json:"position"`
	Positions    []editor.Position `json:"positions"`
	Range        editor.Range      `json:"range"`
	NewName      string            `json:"newName"`
	Context      struct {
		IncludeDeclaration bool     `json:"includeDeclaration"`
		Only               []string `json:"only"`
	} `json:"context"`
	Ch string `json:"ch"`
}

type wireDiagnostic struct {
	Range    editor.Range  `json:"range"`
	Severity int           `json:"severity"`
	Code     string        `json:"code"`
	Source   string        `json:"source"`
	Message  string        `json:"message"`
	Related  []wireRelated `json:"relatedInformation,omitempty"`
}

type wireRelated struct {
	Location wireLocation `json:"location"`
	Message  string       `json:"message"`
}

// The severities of a diagnostic.
const (
	wireError   = 1
	wireWarning = 2
)

type publishParams struct {
	URI         string           `json:"uri"`
	Version     *int             `json:"version,omitempty"`
	Diagnostics []wireDiagnostic `json:"diagnostics"`
}

type hoverResult struct {
	Contents wireMarkup   `json:"contents"`
	Range    editor.Range `json:"range"`
}

type completionItem struct {
	Label         string      `json:"label"`
	Kind          int         `json:"kind"`
	Detail        string      `json:"detail,omitempty"`
	Documentation *wireMarkup `json:"documentation,omitempty"`
	SortText      string      `json:"sortText"`
	Format        int         `json:"insertTextFormat"`
	Edit          wireEdit    `json:"textEdit"`
}

type completionList struct {
	IsIncomplete bool             `json:"isIncomplete"`
	Items        []completionItem `json:"items"`
}

type signatureHelp struct {
	Signatures      []signatureInformation `json:"signatures"`
	ActiveSignature int                    `json:"activeSignature"`
	ActiveParameter int                    `json:"activeParameter"`
}

type signatureInformation struct {
	Label         string                 `json:"label"`
	Documentation *wireMarkup            `json:"documentation,omitempty"`
	Parameters    []parameterInformation `json:"parameters"`
}

type parameterInformation struct {
	Label string `json:"label"`
}

type workspaceEdit struct {
	Changes map[string][]wireEdit `json:"changes"`
}

type prepareResult struct {
	Range       editor.Range `json:"range"`
	Placeholder string       `json:"placeholder"`
}

type documentSymbol struct {
	Name           string           `json:"name"`
	Detail         string           `json:"detail,omitempty"`
	Kind           int              `json:"kind"`
	Range          editor.Range     `json:"range"`
	SelectionRange editor.Range     `json:"selectionRange"`
	Children       []documentSymbol `json:"children,omitempty"`
}

type foldingRange struct {
	StartLine int    `json:"startLine"`
	EndLine   int    `json:"endLine"`
	Kind      string `json:"kind"`
}

type codeAction struct {
	Title       string           `json:"title"`
	Kind        string           `json:"kind"`
	Diagnostics []wireDiagnostic `json:"diagnostics,omitempty"`
	IsPreferred bool             `json:"isPreferred,omitempty"`
	Edit        workspaceEdit    `json:"edit"`
}

type codeLens struct {
	Range   editor.Range    `json:"range"`
	Command *wireCommand    `json:"command,omitempty"`
	Data    json.RawMessage `json:"data,omitempty"`
}

type lensData struct {
	URI  string `json:"uri"`
	Name string `json:"name"`
}

type selectionRange struct {
	Range  editor.Range    `json:"range"`
	Parent *selectionRange `json:"parent,omitempty"`
}

type documentLink struct {
	Range  editor.Range `json:"range"`
	Target string       `json:"target"`
}

type documentHighlight struct {
	Range editor.Range `json:"range"`
	Kind  int          `json:"kind"`
}

type inlayHint struct {
	Position    editor.Position `json:"position"`
	Label       string          `json:"label"`
	Tooltip     string          `json:"tooltip,omitempty"`
	PaddingLeft bool            `json:"paddingLeft"`
}

type semanticTokens struct {
	Data []int `json:"data"`
}
