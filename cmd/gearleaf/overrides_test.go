package main

import (
	"archive/zip"
	"io"
	"os"
	"slices"
	"strings"
	"testing"
)

// setCases are the commands that write a file and have --set; -o and a file
// follow.
var setCases = map[string][]string{
	"sweep":  {"sweep", "kinds.leaf", "boost=14,15", "--show", "total"},
	"drawn":  {"sweep", "kinds.leaf", "boost", "--random", "20", "--show", "total"},
	"solve":  {"solve", "kinds.leaf", "total=29.5", "--by", "boost"},
	"best":   {"best", "kinds.leaf", "--max", "total", "--by", "boost=14,15"},
	"spread": {"spread", "kinds.leaf", "--show", "total", "--draws", "100"},
	"worth":  {"worth", "kinds.leaf", "boost=1", "--show", "total"},
	"log":    {"log", "pass.leaf", "run.csv", "--chart", "none"},
	"export": {"export", "kinds.leaf"},
	"table":  {"export", "kinds.leaf", "--table", "log"},
}

// setIn is how a file says that one given is set and another is not.
var setIn = map[string]string{
	".csv":     `,slack 0.75 (1 in the worksheet)`,
	".json":    `"name":"slack","value":0.75,"worksheet":1}]`,
	".parquet": "slack 0.75 (1 in the worksheet)",
	".xlsx":    "Exported with slack 0.75 (1 in the worksheet).",
	".md":      "Exported with slack 0.75 (1 in the worksheet).",
	".html":    "Exported with slack 0.75 (1 in the worksheet).",
}

// TestSetInEveryFile: every file names the givens that --set has changed. A value
// that the worksheet has anyway changes nothing.
func TestSetInEveryFile(t *testing.T) {
	writeKinds(t)
	for name, args := range setCases {
		kinds := []string{".csv", ".parquet", ".json", ".xlsx"}
		switch name {
		case "export":
			kinds = append(kinds, ".md", ".html")
		case "table":
			kinds = kinds[:2]
		}
		for _, kind := range kinds {
			file := name + kind
			set := []string{"--set", "slack=0.75", "--set", "tip=18.5"}
			if name == "log" {
				set = []string{"--set", "slack=0.75"}
			}
			status(t, 0, slices.Concat(args, set, []string{"-o", file})...)
			if text := fileText(t, file); !strings.Contains(text, setIn[kind]) || strings.Contains(text, "tip 18.5 degC (") {
				t.Errorf("%s does not say what is set, and that alone: %.600s", file, text)
			}
			status(t, 0, append(slices.Clone(args), "-o", file)...)
			if text := fileText(t, file); strings.Contains(text, "in the worksheet") || strings.Contains(text, "\"worksheet\"") {
				t.Errorf("%s says that something is set: %.600s", file, text)
			}
		}
	}
	status(t, 0, "spread", "kinds.leaf", "--show", "total", "--draws", "100", "--set", "slack=0.75", "--drawn", "draws.csv")
	if text := fileText(t, "draws.csv"); strings.Count(text, setIn[".csv"]+"\r\n") != 100 {
		t.Errorf("draws: %.300s", text)
	}
}

// fileText is the text of a file: the parts of a workbook, and JSON without
// blanks around values.
func fileText(t *testing.T, name string) string {
	t.Helper()
	data, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	switch {
	case strings.HasSuffix(name, ".json"):
		lines := strings.Split(strings.ReplaceAll(string(data), `": `, `":`), "\n")
		for i := range lines {
			lines[i] = strings.TrimSpace(lines[i])
		}
		return strings.Join(lines, "")
	case strings.HasSuffix(name, ".xlsx"):
		return partsText(t, name)
	}
	return string(data)
}

func partsText(t *testing.T, name string) string {
	t.Helper()
	book, err := zip.OpenReader(name)
	if err != nil {
		t.Fatal(err)
	}
	defer book.Close()
	var out strings.Builder
	for _, part := range book.File {
		r, err := part.Open()
		if err != nil {
			t.Fatal(err)
		}
		if _, err := io.Copy(&out, r); err != nil {
			t.Fatal(err)
		}
		_ = r.Close()
	}
	return out.String()
}

// TestSetAndVaried: a given that a question varies cannot be set as well.
func TestSetAndVaried(t *testing.T) {
	writeKinds(t)
	for _, args := range [][]string{
		{"sweep", "kinds.leaf", "boost=14,15", "--show", "total"},
		{"sweep", "kinds.leaf", "log.pressure[1]=14,15", "--show", "total"},
		{"solve", "kinds.leaf", "total=29.5", "--by", "boost"},
		{"solve", "kinds.leaf", "total=29.5", "--by", "tip"},
		{"best", "kinds.leaf", "--max", "total", "--by", "boost"},
		{"fit", "pass.leaf", "run.csv", "--by", "slack"},
	} {
		name, _, _ := strings.Cut(args[2], "=")
		if i := slices.Index(args, "--by"); i >= 0 {
			name = args[i+1]
		}
		value := map[string]string{"boost": "16", "log.pressure[1]": "12", "tip": "19", "slack": "0.5"}[name]
		out, errs := status(t, 2, append(args, "--set", name+"="+value)...)
		if out != "" || !strings.Contains(errs, name+" has the value "+value) || !strings.Contains(errs, "by --set, and is varied as well") {
			t.Errorf("%q: %s%s", args, out, errs)
		}
	}
}
