package answer

import (
	"context"
	"fmt"
	"os"
	"testing"
	"time"

	"springcalc/cmd/springcalc/internal/demo"
	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/sheet"
)

func dump(r *report.Report) {
	fmt.Println("==", r.Title)
	for _, s := range r.Answer {
		fmt.Println(s)
	}
	for _, s := range r.Next {
		fmt.Println(">", s)
	}
	for _, w := range r.Rows {
		fmt.Println("  ", w.Key, w.Name, w.Unit.Text(w.Value, w.Digits), w.Text, w.Note)
	}
	for _, t := range r.Tables {
		fmt.Println("--", t.Key, t.Title, t.Short)
		for i, c := range t.Columns {
			if i > 0 {
				fmt.Print(" | ")
			}
			fmt.Print(c.Head, " ", c.Unit.Symbol)
		}
		fmt.Println()
		for i, line := range t.Data {
			if i > 20 {
				break
			}
			for j, cell := range line {
				if v, ok := cell.(float64); ok && t.Columns[j].Unit.Symbol != "" {
					cell = t.Columns[j].Unit.Number(v, t.Columns[j].Digits)
				}
				if cell != nil {
					fmt.Print(cell)
				}
				fmt.Print(" | ")
			}
			fmt.Println()
		}
	}
	for _, s := range r.Doubts {
		fmt.Println("?", s)
	}
	for _, s := range r.Notes {
		fmt.Println("note", s)
	}
}

func TestDump(t *testing.T) {
	m, err := machine.ReadMachine("demo.toml", demo.Sheet, nil)
	if err != nil {
		t.Fatal(err)
	}
	data, _ := os.ReadFile("../../testdata/springs.csv")
	list, err := sheet.ReadSprings("springs.csv", data)
	if err != nil {
		t.Fatal(err)
	}
	for _, o := range []ReplaceOptions{{}, {Sheet: true}, {Candidates: list}, {Copy: CopyAll}, {Nests: true, MeanStep: 2e-3, MaxCoils: 15}} {
		began := time.Now()
		mm, _ := machine.ReadMachine("demo.toml", demo.Sheet, nil)
		r, err := Replace(context.Background(), mm, o)
		fmt.Println(time.Since(began))
		if err != nil {
			t.Error(err)
			continue
		}
		dump(r)
	}
	_ = m
}
