package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"maps"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/santhosh-tekuri/jsonschema/v6/kind"

	"springcalc/cmd/springcalc/internal/demo"
)

// corpus is what is asked so that each command shows all it has, by the schema that
// its answers as JSON go by.
var corpus = []struct{ schema, line string }{
	{"shot", "shot --draws 200"},
	{"shot", "shot worn.toml --no-spread --as-of 2023-01-01"},
	{"shot", "shot --no-spread --against log.csv"},
	{"shot", "shot two_pulls.toml --draws 200"},
	{"shot", "shot gauge.toml --draws 200"},
	{"shot", `shot --no-spread --set "piston.friction=900 N" --set pull.end_pressure=`},
	{"shot", `shot --no-spread --solve "yield=30 g" --by coffee.dose`},
	{"diagnose", "diagnose --as-of 2026-03"},
	{"diagnose", "diagnose tired.toml --as-of 2026-03"},
	{"diagnose", "diagnose worn.toml --as-of 2023-01-01"},
	{"diagnose", `diagnose tired.toml --as-of 2026-03 --peaks years.csv --keep-above "6 bar" --pulls-per-day 80 --set new.free_length= --set bench=`},
	{"spring", "spring"},
	{"spring", "spring nest.toml"},
	{"spring", "spring rate.toml --bench bench-kgf.csv"},
	{"spring", "spring demo.toml --bench bench-worn.csv --pulls-per-day 100 --years 12"},
	{"spring", `spring demo.toml --set "spring.temperature=130 °C" --method "EN 13906-1"`},
	{"spring", `spring --find wire --stress "65 ksi" --load "300 lbf" --factor Wahl`},
	{"lever", "lever"},
	{"lever", "lever lever_cam.toml"},
	{"lever", "lever two_pulls.toml"},
	{"lever", `lever --raising "76 N ± 1 N" --lowering "64 N ± 1 N" --turned "40° ± 1°"`},
	{"replace", `replace --grade "EN 10270-2 VDSiCr" --mean-step "1 mm" --max-coils 15 --top 3 --draws 200`},
	{"replace", `replace --grade "EN 10270-2 VDSiCr" --mean-step "1 mm" --max-coils 15 --effort "110 N" --no-spread`},
	{"replace", "replace --candidates springs.csv --rank price --no-spread"},
	{"replace", `replace --copy --set "new.free_length=186 mm" --no-spread`},
	{"order", `replace --grade "EN 10270-2 VDSiCr" --mean-step "1 mm" --max-coils 15 --order --top 1`},
	{"order", `replace --copy --order --set "new.free_length=186 mm"`},
	{"basket", `basket --to "diameter=58 mm, depth=24 mm, dose=17 g" --draws 200`},
	{"basket", `basket --to "dose=14 g" --known "yield=34 g, time=42 s, peak=6.4 bar" --no-spread`},
	{"history", "history --as-of 2026-03"},
	{"history", `history worn.toml --as-of 2023-01-01 --limit "80 %"`},
	{"history", "history worn.toml --compare 2019-06-01 --as-of 2019-06-01"},
	{"history", "history tired.toml --peaks years.csv --made 1985 --as-of 2026-03"},
	{"workshop", "workshop worn.toml tired.toml faulty.toml --as-of 2023-01-01"},
	{"tables", "tables"},
	{"table", "tables zimmerli"},
	{"table", "tables shigley-sut"},
	{"table", "tables defaults"},
	{"sweep", `shot --sweep "coffee.dose=10 g:14 g:4 g" --sweep "pull.preinfusion=5 s:15 s:10 s"`},
	{"sweep", `spring --sweep "spring.wire=7 mm:11 mm:2 mm"`},
}

// document is a JSON object.
type document = map[string]any

// parsed reads JSON.
func parsed(t *testing.T, text string) document {
	t.Helper()
	var d document
	if err := json.Unmarshal([]byte(text), &d); err != nil {
		t.Fatalf("%v in %.300s", err, text)
	}
	return d
}

// compiled is a schema that can be held against answers.
func compiled(t *testing.T, schema document) *jsonschema.Schema {
	t.Helper()
	c := jsonschema.NewCompiler()
	if err := c.AddResource("answer.json", schema); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("answer.json")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// TestSchemas: every answer as JSON goes by the schema that --schema gives of it, and
// by that of its kind in the folder schema, which -update makes of those of the corpus
// in both families of units; a broken answer goes by neither.
func TestSchemas(t *testing.T) {
	home, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(workDir(t))
	if err := os.WriteFile("log.csv", demo.Log, 0o666); err != nil {
		t.Fatal(err)
	}
	kinds, answers := map[string]document{}, map[string][]document{}
	always := map[string]map[string][]any{} // by kind and family what all answers have
	for _, c := range corpus {
		for _, units := range []string{"metric", "inch"} {
			ask := func(form string) document {
				var out, errs bytes.Buffer
				if status := run(append(shellWords(c.line), "--units", units, form), nil, &out, &errs); status != answered {
					t.Fatalf("%s %s: status %d: %s", c.line, form, status, errs.String())
				}
				return parsed(t, out.String())
			}
			answer, schema := ask("--json"), ask("--schema")
			goes := compiled(t, schema)
			if err := goes.Validate(answer); err != nil {
				t.Errorf("%s: %v", c.line, err)
			}
			breaks(t, c.line, goes, answer, schema["required"].([]any))
			if always[c.schema] == nil {
				always[c.schema] = map[string][]any{}
			}
			if have, ok := always[c.schema][units]; ok {
				always[c.schema][units] = common(have, schema["required"].([]any))
			} else {
				always[c.schema][units] = schema["required"].([]any)
			}
			if kinds[c.schema] == nil {
				kinds[c.schema] = schema
			} else {
				merge(kinds[c.schema], schema)
			}
			answers[c.schema] = append(answers[c.schema], answer)
		}
	}
	for kind, schema := range kinds {
		schema["title"] = "springcalc: " + kind
		schema["required"] = common(always[kind]["metric"], always[kind]["inch"])
		var cases []any
		for _, units := range []string{"metric", "inch"} {
			cases = append(cases, document{"if": document{"properties": document{"units": document{"const": units}}}, "then": document{"required": always[kind][units]}})
		}
		schema["allOf"] = cases
		text, err := json.MarshalIndent(schema, "", " ")
		if err != nil {
			t.Fatal(err)
		}
		file := filepath.Join(home, "schema", kind+".json")
		if *update {
			if err := os.WriteFile(file, append(text, '\n'), 0o666); err != nil {
				t.Fatal(err)
			}
		}
		written, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(parsed(t, string(written)), parsed(t, string(text))) {
			t.Errorf("schema/%s.json is not that of the answers: go test ./cmd/springcalc -run TestSchemas -update", kind)
		}
		goes := compiled(t, parsed(t, string(written)))
		for _, answer := range answers[kind] {
			if err := goes.Validate(answer); err != nil {
				t.Errorf("schema/%s.json: %v", kind, err)
			}
			breaks(t, kind, goes, answer, always[kind][answer["units"].(string)])
		}
	}
	files, err := filepath.Glob(filepath.Join(home, "schema", "*.json"))
	if err != nil || len(files) != len(kinds) {
		t.Errorf("%d files of %d kinds: %v", len(files), len(kinds), err)
	}
}

// breaks breaks an answer in every member that it must have, all at once, and wants
// each seen.
func breaks(t *testing.T, what string, goes *jsonschema.Schema, answer document, required []any) {
	t.Helper()
	for _, wrong := range []any{nil, document{"a": []any{}}} {
		bad := maps.Clone(answer)
		for _, key := range required {
			if bad[key.(string)] = wrong; wrong == nil {
				delete(bad, key.(string))
			}
		}
		seen := map[string]bool{}
		var fault *jsonschema.ValidationError
		if errors.As(goes.Validate(bad), &fault) {
			faultsAt(fault, seen)
		}
		for _, key := range required {
			if !seen[key.(string)] {
				t.Errorf("%s: passes with %s: %v", what, key, wrong)
			}
		}
	}
	bad := maps.Clone(answer)
	bad["more"] = []any{1}
	if goes.Validate(bad) == nil {
		t.Errorf("%s: passes with a list that is no table", what)
	}
}

// faultsAt notes the members of an answer that a fault names.
func faultsAt(fault *jsonschema.ValidationError, seen map[string]bool) {
	if missing, ok := fault.ErrorKind.(*kind.Required); ok && len(fault.InstanceLocation) == 0 {
		for _, key := range missing.Missing {
			seen[key] = true
		}
	}
	if len(fault.InstanceLocation) > 0 {
		seen[fault.InstanceLocation[0]] = true
	}
	for _, cause := range fault.Causes {
		faultsAt(cause, seen)
	}
}

// common are the texts of both lists.
func common(a, b []any) []any {
	return slices.DeleteFunc(slices.Clone(a), func(v any) bool { return !slices.Contains(b, v) })
}

// merge takes into a schema of objects what another has: members of either may be
// there, those of both are of either's types.
func merge(into, from document) {
	have, more := into["properties"].(document), from["properties"].(document)
	for key, v := range more {
		a, ok := have[key].(document)
		b := v.(document)
		switch {
		case !ok:
			have[key] = v
		case reflect.DeepEqual(a, b):
		case a["const"] != nil:
			have[key] = document{"enum": []any{a["const"], b["const"]}}
		case a["enum"] != nil:
			if list := a["enum"].([]any); !slices.Contains(list, b["const"]) {
				a["enum"] = append(list, b["const"])
			}
		case a["items"] != nil && b["items"] != nil:
			merge(a["items"].(document), b["items"].(document))
		case a["properties"] != nil && b["properties"] != nil:
			merge(a, b)
		default:
			for _, of := range b["type"].([]any) {
				if types := a["type"].([]any); !slices.Contains(types, of) {
					a["type"] = append(types, of)
				}
			}
			slices.SortFunc(a["type"].([]any), func(x, y any) int { return strings.Compare(x.(string), y.(string)) })
		}
	}
	if a, ok := into["required"].([]any); ok {
		into["required"] = common(a, from["required"].([]any))
	}
}
