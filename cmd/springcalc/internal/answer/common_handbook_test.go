package answer

import (
	"regexp"
	"strconv"
	"strings"
	"testing"

	"springcalc/tables"
)

// TestHeatCaution: what the caution says of heat is true by the published times to a
// burn of the third degree in water (Moritz and Henriques 1947) and by the thresholds
// for bare metal (ISO 13732-1): seconds at the temperature it names and above, more
// than ten at 5 °C less in water.
func TestHeatCaution(t *testing.T) {
	m := regexp.MustCompile(`Above (\d+) °C skin burns in seconds`).FindStringSubmatch(cautionHot)
	if m == nil {
		t.Fatalf("no temperature in %q", cautionHot)
	}
	limit, _ := strconv.ParseFloat(m[1], 64)
	rows := func(name string) [][]string {
		table, err := tables.Get(name)
		if err != nil {
			t.Fatal(err)
		}
		return table.Rows
	}
	const few = 10.0 // s
	hotter := 0
	for _, row := range rows("scald-times") {
		water, _ := strconv.ParseFloat(row[0], 64)
		time, _ := strconv.ParseFloat(row[2], 64)
		switch seconds := row[3] == "s" && time <= few; {
		case water >= limit && !seconds:
			t.Errorf("water of %g °C takes %g %s", water, time, row[3])
		case water >= limit:
			hotter++
		case water <= limit-5 && seconds:
			t.Errorf("water of %g °C burns in %g s: the caution comes too late", water, time)
		}
	}
	if hotter == 0 {
		t.Errorf("no water of %g °C in the table", limit)
	}
	for _, row := range rows("contact-burns") {
		if high, _ := strconv.ParseFloat(row[2], 64); strings.HasPrefix(row[0], "10 s") && high > limit {
			t.Errorf("metal burns in 10 s from %g °C", high)
		}
	}
}
