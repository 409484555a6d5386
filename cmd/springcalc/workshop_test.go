package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"springcalc/cmd/springcalc/internal/demo"
)

// TestWorkshopFolder: a folder is its sheets, alike ones in the natural order of
// their names; hidden files and others are none.
func TestWorkshopFolder(t *testing.T) {
	t.Chdir(t.TempDir())
	if err := os.Mkdir("shop", 0o777); err != nil {
		t.Fatal(err)
	}
	visit := "\n[[visit]]\ndate = 2030\npeak = \"8.9 bar\"\n"
	for i := range 12 {
		if err := os.WriteFile(filepath.Join("shop", fmt.Sprintf("m%d.toml", i+1)), append(bytes.Clone(demo.Sheet), visit...), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	for _, name := range []string{"notes.txt", ".m0.toml"} {
		if err := os.WriteFile(filepath.Join("shop", name), []byte("x"), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	status, said := ran(t, "workshop", "shop", "--csv")
	var names []string
	for _, line := range strings.Split(strings.TrimSpace(said), "\n")[1:] {
		name, _, _ := strings.Cut(line, ",")
		names = append(names, name)
	}
	if status != answered || strings.Join(names, " ") != "m1 m2 m3 m4 m5 m6 m7 m8 m9 m10 m11 m12" {
		t.Errorf("status %d: %s", status, names)
	}
	if status, again := ran(t, "workshop", "shop/m2.toml", "shop", "shop/m2.toml", "--csv"); status != answered || again != said {
		t.Errorf("status %d: a sheet that is named twice counts twice:\n%s", status, again)
	}
	if err := os.Mkdir("empty", 0o777); err != nil {
		t.Fatal(err)
	}
	for args, want := range map[string]string{
		"workshop empty": "empty: no sheets (*.toml) in this folder", "workshop no-such": "no such file", "workshop": "expected \"<sheet> ...\"",
		"workshop shop --limit 5": `--limit: "5": has no unit`, "workshop shop --as-of soon": `--as-of: "soon": want a date`,
	} {
		if status, said := ran(t, strings.Fields(args)...); status != wrongUse || !strings.Contains(said, want) {
			t.Errorf("%s: status %d, %q", args, status, said)
		}
	}
	// A sheet without an answer stops no other, and is no failure of the rest.
	if err := os.WriteFile("shop/m5.toml", []byte("x = 1"), 0o666); err != nil {
		t.Fatal(err)
	}
	if status, said := ran(t, "workshop", "shop"); status != answered || !strings.Contains(said, "1 sheet without an") || !strings.Contains(said, "? Sheet m5: ") {
		t.Errorf("status %d: %s", status, said)
	}
}
