package page

import (
	"encoding/json"
	"fmt"
)

// All that the page says by itself, in one place. What comes with an answer is said
// by the rooms before; what a key means stands in the sheet's tables.

const (
	textTakenAs    = "Left empty: taken as "
	textDemo       = "A fictional demo machine. Nothing is saved until you say so."
	textUnmeasured = "read one off the gauge and state it here; or drop a logged shot, or peaks over the years, on the page"
	textNoCode     = "Open this page by the address that the program has printed; each code in it lets one device in, once."
)

func textInBand(low, high string) string { return "; from " + low + " to " + high + " is in the band" }

func textLikeShim(length string, more bool) string {
	if more {
		return "like a shim of " + length
	}
	return "as if the spring were " + length + " shorter"
}

func textGrind(factor float64) string {
	if factor > 1 {
		return fmt.Sprintf("finer, %+.0f %%", 100*(factor-1))
	}
	return fmt.Sprintf("coarser, %+.0f %%", 100*(factor-1))
}

// labels are tables, and keys whose names do not read well.
var labels = map[string]string{
	"spring.inner": "Inner spring", "piston.o_ring": "O-rings", "chamber": "Chamber above the coffee",
	"lever.point": "Measured position", "lever.pull": "Pull of the handle", "coffee": "Coffee", "coffee.known": "A shot that you know", "pull": "Pull",
	"bench.load": "Load on the bench", "space": "Room for the spring", "wish": "Wishes",
	"ends": "Ends of the wire", "kind": "Works by", "preinfusion": "Pre-infusion", "rate": "Spring rate",
	"boiler_temperature": "Boiler", "brew_temperature": "In the coffee", "bore": "Bore", "o_ring": "O-ring",
}

// texts are the words of the page's frame and of its script, by name.
var texts = map[string]string{
	"answers": "Go to the answers", "toTry": "Go to what can be tried", "toSheet": "Go to the machine sheet",
	"questions": "Questions", "sheet": "Sheet", "sheetTitle": "Machine sheet",
	"sheetLead":  "Any unit may be typed. What you leave empty is taken from the list of defaults, and widens the band.",
	"moreFields": "left empty", "plus": "plus or minus", "choose": "not stated",
	"save": "Save sheet", "saveAs": "Save as a file", "dark": "Dark", "light": "Light",
	"saved": "Saved", "unsaved": "Changed, not saved", "savedFile": "Saved as a file by the browser",
	"over": "The file has changed since it was read here. Write over it all the same?",
	"anew": "Comments and order of the sheet could not be kept.",
	"try":  "Try", "back": "Back to the sheet", "put": "Put into the sheet", "whatToTry": "What to change",
	"less": "less", "more": "more", "ofSheet": "sheet",
	"tried": "as tried", "kept": "as kept", "today": "as in the sheet",
	"keep": "Keep this curve to compare", "unkeep": "Compare with the sheet",
	"download": "Download", "svg": "Picture, SVG", "png": "Picture, PNG", "csv": "Numbers, CSV", "json": "All of it, JSON", "print": "Printout",
	"command": "The same on the command line", "copy": "Copy", "copied": "Copied",
	"doubt": "doubt", "manyDoubts": "doubts", "cautions": "Cautions", "caution": "Caution",
	"next": "What next", "assumed": "Assumed, for want of a statement", "notes": "Notes", "results": "All results",
	"estimate": "value", "interval": "from, to", "narrow": "narrow it by", "about": "about",
	"busy": "Working out the band", "asking": "Working it out", "of": "of", "draws": "draws", "ask": "Work it out", "add": "Add to the record", "addLead": "What was read or done on a visit; a date left empty is today.",
	"lost": "These are its numbers of ", "again": "Try again", "gone": "The program has stopped.",
	"wrong": "The sheet has a fault; the answer is that of the last good sheet.", "goTo": "Go to it",
	"needs": "The sheet does not say enough for this yet.",
	"empty": "No curve yet. Still needed:", "fill": "Fill in the sheet",
	"curves": "The numbers are in the table below.", "asTable": "The curve as a table", "ends": "ends", "to": "to", "from": "from",
	"files": "Read a file", "filesLead": "Or drop it anywhere on the page: a machine sheet, a logged shot, a list of springs.",
	"asText": "The sheet as text", "readText": "Read this text", "newSheet": "New sheet", "kin": "New one like this",
	"addRow": "Add one more", "dropRow": "Take this one out", "odd": "Hardly meant?", "pick": "The springs; choose one to see its curve",
	"toCurve": "To the curve", "units": "Units", "typedUnits": "as typed", "metric": "metric", "inch": "inch",
	"read": "read", "forget": "Forget",
}

// textsJSON are the words for the script.
var textsJSON = func() string {
	b, err := json.Marshal(texts)
	if err != nil {
		panic(err) // strings always encode
	}
	return string(b)
}()
