package sheet

import (
	"gearleaf/sheet/diag"
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
	tree, list := syntax.Parse(file)
	if list.Errors() {
		return nil, list
	}
	return tree, list
}

// ParseTree parses a worksheet that is not in a file.
func ParseTree(name string, data []byte) (*syntax.Worksheet, diag.List) {
	file, d := admitSheet(name, string(data))
	if d != nil {
		return nil, diag.List{*d}
	}
	tree, list := syntax.Parse(file)
	if list.Errors() {
		return nil, list
	}
	return tree, list
}
