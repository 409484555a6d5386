package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// TestEveryFieldNamesItsUnit wants a [unit] in the comment of every exported
// field that holds a float64, in all packages; [-] where there is none.
func TestEveryFieldNamesItsUnit(t *testing.T) {
	unit := regexp.MustCompile(`\[[^\]\s][^\]]*\]`)
	fields := 0
	files := token.NewFileSet()
	err := filepath.WalkDir("../..", func(path string, d fs.DirEntry, err error) error {
		if err != nil || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return err
		}
		file, err := parser.ParseFile(files, path, nil, parser.ParseComments)
		if err != nil {
			return err
		}
		ast.Inspect(file, func(n ast.Node) bool {
			s, ok := n.(*ast.StructType)
			if !ok {
				return true
			}
			for _, f := range s.Fields.List {
				if !holdsFloat(f.Type) {
					continue
				}
				for _, name := range f.Names {
					if !name.IsExported() {
						continue
					}
					fields++
					if !unit.MatchString(f.Comment.Text() + f.Doc.Text()) {
						t.Errorf("%s: field %s has no [unit]", files.Position(name.Pos()), name.Name)
					}
				}
			}
			return true
		})
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if fields < 50 {
		t.Errorf("looked at %d fields only: is the tree where it was?", fields)
	}
}

// holdsFloat says whether a type is float64, or a pointer to or list of it.
func holdsFloat(e ast.Expr) bool {
	switch t := e.(type) {
	case *ast.Ident:
		return t.Name == "float64"
	case *ast.StarExpr:
		return holdsFloat(t.X)
	case *ast.ArrayType:
		return holdsFloat(t.Elt)
	}
	return false
}
