package flags

import "springcalc/cmd/springcalc/internal/sheet"

// Headings is for commands that read lists and logs.
type Headings struct {
	Columns string `placeholder:"COLUMN=HEADING" help:"What your list or log calls its columns, as in --columns \"time=Zeit, pressure=Druck (bar)\"."`
}

// Reading is the flag as the way to read a list.
func (c Headings) Reading() (*sheet.Reading, error) {
	if c.Columns == "" {
		return &sheet.Reading{}, nil
	}
	columns, err := sheet.ParseColumns(c.Columns)
	if err != nil {
		return nil, sheet.Usef("--columns: %v", err)
	}
	return &sheet.Reading{Columns: columns}, nil
}
