package ticket_test

import (
	"encoding/xml"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"foreshaft/ui/present"
	"foreshaft/ui/ticket"
)

// words returns the texts of a drawing in their order, as one line.
func words(list []element) string {
	var out []string
	for _, e := range list {
		if e.words != "" {
			out = append(out, e.words)
		}
	}
	return strings.Join(out, " ")
}

// A drawing can be printed without the page around it: it says what stands on
// every print, inside its edges and with no line on another, however much there is.
func TestADrawingAloneSaysEverything(t *testing.T) {
	for _, count := range []int{0, 1, 6, 30} {
		s := strip(20, 80)
		for range count {
			s.Notes = append(s.Notes, "An invented note that is long enough to take more than a single line beside the bar.")
		}
		list := drawn(t, s.SVG())
		plain := words(list)
		for _, sentence := range append(slices.Clone(s.Notes), present.Standing...) {
			if !strings.Contains(plain, sentence) {
				t.Errorf("%d notes: the drawing does not say %q", count, sentence)
			}
		}
		bar := list[slices.IndexFunc(list, func(e element) bool { return e.id == "bar" })]
		var beside []element
		for _, e := range list {
			if e.name == "text" && e.x > bar.x {
				beside = append(beside, e)
			}
		}
		var root struct {
			Height string `xml:"height,attr"`
		}
		if err := xml.Unmarshal(s.SVG(), &root); err != nil {
			t.Fatal(err)
		}
		height, err := strconv.ParseFloat(strings.TrimSuffix(root.Height, "mm"), 64)
		if err != nil {
			t.Fatal(err)
		}
		for i, e := range beside {
			if e.y > height {
				t.Errorf("%d notes: %q stands at %.1f mm of %.1f", count, e.words, e.y, height)
			}
			if i > 0 && e.y-beside[i-1].y < e.size {
				t.Errorf("%d notes: %q and %q are %.2f mm apart", count, beside[i-1].words, e.words, e.y-beside[i-1].y)
			}
		}
	}
}

// XML 1.0 (section 2.2, Char) has no place for U+FFFE and U+FFFF: a drawing that
// holds one does not open. JSON lets both into a name.
func TestADrawingOpensWhateverANameHolds(t *testing.T) {
	for _, name := range []string{"a\ufffeb", "a\uffffb", "a\x00\x1bb", "a\xffb", "]]>", "&nbsp;"} {
		s := strip(20, 60)
		s.Build, s.Notes, s.Where = name, []string{name}, name
		if list := drawn(t, s.SVG()); len(marksOf(list)) != 41 {
			t.Errorf("%q: %d marks are drawn, want 41", name, len(marksOf(list)))
		}
	}
}

// A name is told as far as a line holds it, and does not push the strip away.
func TestALongNameTakesALine(t *testing.T) {
	s := strip(20, 60)
	s.Build = strings.Repeat("W", 10000)
	for _, format := range ticket.Formats {
		data, err := s.As(format)
		if err != nil {
			t.Fatal(err)
		}
		if strings.Contains(string(data), strings.Repeat("W", 81)) {
			t.Errorf("%s repeats the whole name", format)
		}
		if !strings.Contains(string(data), "WWWWW") {
			t.Errorf("%s does not tell the name", format)
		}
	}
}

// Without marks there is nothing to cut out, only the sentence that says so.
func TestADrawingWithoutMarks(t *testing.T) {
	count := func(s *ticket.Strip) (rects int, plain string) {
		list := drawn(t, s.SVG())
		for _, e := range list {
			if e.name == "rect" {
				rects++
			}
		}
		return rects, words(list)
	}
	if rects, plain := count(strip(20, 19)); rects != 1 || !strings.Contains(plain, "There are no marks.") {
		t.Errorf("%d rectangles, want the paper alone; it says %q", rects, plain)
	}
	if rects, _ := count(strip(20, 30)); rects != 2 {
		t.Errorf("%d rectangles, want the paper and the outline", rects)
	}
}

// The scale of a sight may count in other steps than inches, and the other way: a
// mark lies where the pin is, farther distances lower.
func TestTravelPlacesThePin(t *testing.T) {
	plain := marksOf(drawn(t, strip(20, 60).SVG()))
	half := strip(20, 60)
	half.Travel = 0.5
	// Wide enough for every tick at half the travel.
	for i := range half.Marks {
		half.Marks[i].Reading *= 2
	}
	turned := strip(20, 60)
	turned.Travel = -1
	for i := range turned.Marks {
		turned.Marks[i].Reading *= -1
	}
	for name, s := range map[string]*ticket.Strip{"half": half, "turned": turned} {
		list := drawn(t, s.SVG())
		marks := marksOf(list)
		if len(marks) != len(plain) {
			t.Fatalf("%s: %d marks, want %d", name, len(marks), len(plain))
		}
		for i := range marks {
			if math.Abs(marks[i]-plain[i]) > 2e-4 {
				t.Errorf("%s: mark %d lies at %.4f mm, want %.4f", name, i, marks[i], plain[i])
			}
		}
		near := slices.IndexFunc(list, func(e element) bool { return e.words == "20" })
		far := slices.IndexFunc(list, func(e element) bool { return e.words == "60" })
		if near < 0 || far < 0 || list[far].y <= list[near].y {
			t.Errorf("%s: 60 is not below 20", name)
		}
	}
}
