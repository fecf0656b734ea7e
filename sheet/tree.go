package sheet

import (
	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

// ReadTree parses the worksheet at path alone, without what it uses. The tree
// is nil when the list holds an error.
func ReadTree(path string) (*syntax.Worksheet, diag.List) {
	l, name, err := openLoader(Input{Path: path})
	if err != nil {
		return nil, diag.List{*unreadable(path, err)}
	}
	defer l.close()
	file, d := l.read(name, path)
	if d != nil {
		return nil, diag.List{*d}
	}
	return parseWhole(file)
}

// ParseTree parses a worksheet that is not in a file.
func ParseTree(name string, data []byte) (*syntax.Worksheet, diag.List) {
	file, d := admitSheet(name, string(data))
	if d != nil {
		return nil, diag.List{*d}
	}
	return parseWhole(file)
}

// parseWhole parses file; the tree is nil when the list holds an error.
func parseWhole(file *source.File) (*syntax.Worksheet, diag.List) {
	tree, list := syntax.Parse(file)
	if list.Errors() {
		return nil, list
	}
	return tree, list
}
