package tables

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"strings"
	"testing"
)

// TestEveryFieldNamesItsUnit: each exported number carries its unit in brackets.
func TestEveryFieldNamesItsUnit(t *testing.T) {
	names, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	fields := 0
	for _, name := range names {
		set := token.NewFileSet()
		file, err := parser.ParseFile(set, name, nil, parser.ParseComments)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(file, func(n ast.Node) bool {
			s, ok := n.(*ast.StructType)
			if !ok {
				return true
			}
			for _, f := range s.Fields.List {
				kind, isIdent := f.Type.(*ast.Ident)
				if !isIdent || kind.Name != "float64" || len(f.Names) == 0 || !f.Names[0].IsExported() {
					continue
				}
				fields++
				if text := f.Comment.Text(); !strings.Contains(text, "[") || !strings.Contains(text, "]") {
					t.Errorf("%s: field %s has no [unit]", set.Position(f.Pos()), f.Names[0].Name)
				}
			}
			return true
		})
	}
	if fields < 30 {
		t.Errorf("found only %d fields", fields)
	}
}
