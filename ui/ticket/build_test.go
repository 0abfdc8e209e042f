package ticket_test

import (
	"encoding/xml"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"foreshaft/engine/arrow"
	"foreshaft/engine/caution"
	"foreshaft/engine/dozen"
	"foreshaft/engine/enginetest"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
	"foreshaft/ui/present"
	"foreshaft/ui/ticket"
)

// span is from where to where something reaches on the drawing, in mm.
type span struct{ from, to float64 }

// sketch is a drawing as it was printed.
type sketch struct {
	scale, width, height float64
	shapes, lines        map[string]span
	corners              map[string][]string // of shapes, as x,y
	each                 []element           // lines and texts
}

var scaleSaid = regexp.MustCompile(`Scale 1 : ([\d.]+) when printed`)

// sketched reads the drawing of a ticket out of its HTML.
func sketched(t testing.TB, k *ticket.Ticket) sketch {
	t.Helper()
	html := string(written(t, k, "html"))
	said := scaleSaid.FindStringSubmatch(html)
	from, to := strings.Index(html, "<svg"), strings.Index(html, "</svg>")
	if said == nil || from < 0 || to < 0 {
		t.Fatal("there is no drawing, or no scale")
	}
	number := func(s string) float64 {
		x, err := strconv.ParseFloat(s, 64)
		if err != nil {
			t.Fatalf("%q is no number", s)
		}
		return x
	}
	out := sketch{scale: number(said[1]), shapes: map[string]span{}, lines: map[string]span{}, corners: map[string][]string{}}
	reach := func(of map[string]span, name string, x float64) {
		s, known := of[name]
		if !known {
			s = span{x, x}
		}
		of[name] = span{min(s.from, x), max(s.to, x)}
	}
	page(t, html[from:to+len("</svg>")], func(e xml.StartElement) {
		values := map[string]string{}
		for _, a := range e.Attr {
			values[a.Name.Local] = a.Value
		}
		switch e.Name.Local {
		case "svg":
			box := strings.Fields(values["viewBox"])
			if values["width"] != box[2]+"mm" || values["height"] != box[3]+"mm" {
				t.Errorf("the drawing is not at true size: %v", values)
			}
			out.width, out.height = number(box[2]), number(box[3])
		case "polygon":
			words := strings.Fields(values["class"])
			out.corners[words[1]] = strings.Fields(values["points"])
			for _, p := range out.corners[words[1]] {
				x, _, _ := strings.Cut(p, ",")
				reach(out.shapes, words[1], number(x))
			}
		case "line":
			one := element{name: "line", class: values["class"], x: number(values["x1"]), y: number(values["y1"]), x2: number(values["x2"]), y2: number(values["y2"])}
			reach(out.lines, one.class, one.x)
			reach(out.lines, one.class, one.x2)
			out.each = append(out.each, one)
		case "text":
			out.each = append(out.each, element{name: "text", x: number(values["x"]), y: number(values["y"])})
		}
	}, func(words string) {
		if n := len(out.each); n > 0 && out.each[n-1].name == "text" {
			out.each[n-1].words += strings.TrimSpace(words)
		}
	})
	return out
}

// The drawing is to the scale that it says, tail left, and every dimension reaches from where
// it says to where it says.
func TestTheDrawingIsToScale(t *testing.T) {
	j := fullJob(t)
	b := &j.Builds[0]
	b.Insert.Value.Proud = unit.Some(0.25 * unit.Inch)
	b.Nock.Throat = unit.Some(0.6 * unit.Inch)
	k := ticket.OfBuild(sheet.Evaluate(j), 0, origin)
	s := sketched(t, k)
	throat := s.lines["arrow"].from
	// In inches from the throat, by hand from the job.
	want := map[string]span{
		"arrow": {0, 29.5}, "tube": {0.6, 29.5}, "overall": {0, 30.75}, "head": {29.75, 30.75}, "vanes-throat": {0, 1.3}, "vanes-shaft": {0.6, 1.3}, "vanes": {1.3, 3.5},
		"wrap": {0.6, 4.6}, "insert": {28.5, 29.5}, "proud": {29.5, 29.75}, "collar": {29.1, 29.5}, "balance": {0, b.Moments().Balance.In(unit.Inch)}, "extra": {0, 29},
	}
	on := func(inches float64) float64 { return throat + inches*25.4/s.scale }
	near := func(a, b float64) bool { return math.Abs(a-b) < 0.002 }
	for name, in := range want {
		if got := s.lines[name]; !near(got.from, on(in.from)) || !near(got.to, on(in.to)) {
			t.Errorf("the dimension %s reaches from %.3f to %.3f mm, want %.3f to %.3f", name, got.from, got.to, on(in.from), on(in.to))
		}
	}
	if len(s.lines) != len(want) {
		t.Errorf("%d dimensions, want %d: %v", len(s.lines), len(want), s.lines)
	}
	for name, in := range map[string]span{"shaft": {0.6, 29.5}, "vane": {1.3, 3.5}, "wrap": {0.6, 4.6}, "insert": {28.5, 29.75}, "collar": {29.1, 29.5}, "head": {29.75, 30.75}} {
		if got := s.shapes[name]; !near(got.from, on(in.from)) || !near(got.to, on(in.to)) {
			t.Errorf("the %s is drawn from %.3f to %.3f mm, want %.3f to %.3f", name, got.from, got.to, on(in.from), on(in.to))
		}
	}
	if got := s.shapes["balance"]; !near((got.from+got.to)/2, on(want["balance"].to)) {
		t.Errorf("the balance point is drawn at %.3f mm, want %.3f", (got.from+got.to)/2, on(want["balance"].to))
	}
	if got := s.shapes["nock"]; got.from >= throat || !near(got.to, on(0.6)) {
		t.Errorf("the nock is drawn from %.3f to %.3f mm", got.from, got.to)
	}
	// The head ends in one point, in front.
	front := slices.DeleteFunc(slices.Clone(s.corners["head"]), func(p string) bool {
		x, _ := strconv.ParseFloat(p[:strings.Index(p, ",")], 64)
		return !near(x, s.shapes["head"].to)
	})
	if len(front) != 1 {
		t.Errorf("%d corners of the head lie in front: %q", len(front), s.corners["head"])
	}
	// It is as large as the paper takes, to a tenth of the scale.
	if all := s.lines["overall"].to - s.shapes["nock"].from; all > s.width || all*s.scale/(s.scale-0.1) < s.width-1.5 {
		t.Errorf("%.1f mm are drawn on %.1f", all, s.width)
	}
	// The PDF has the same lines, as far from the edge of the paper as the page is.
	var lines [][4]float64
	for _, page := range contents(t, written(t, k, "pdf")) {
		for _, m := range pdfLine.FindAllStringSubmatch(page, -1) {
			var l [4]float64
			for i := range l {
				x, _ := strconv.ParseFloat(m[i+1], 64)
				l[i] = x * point
			}
			lines = append(lines, l)
		}
	}
	for _, e := range s.each {
		if e.name == "line" && !slices.ContainsFunc(lines, func(l [4]float64) bool {
			return math.Abs(l[0]-10-e.x) < 0.01 && math.Abs(l[2]-10-e.x2) < 0.01 && math.Abs((l[1]-l[3])-(e.y2-e.y)) < 0.01
		}) {
			t.Errorf("the PDF lacks the line %+v", e)
		}
	}
	for _, words := range []string{"arrow length, throat to cut end: 29.50 in = 29 1/2 in", "cut shaft, end to end: 28.90 in ≈ 28 7/8 in", "vanes' rear edge from the throat: 1.30 in ≈ 1 5/16 in", "vanes' rear edge from the shaft's rear end: 0.70 in ≈ 11/16 in",
		"insert into the shaft: 1.00 in", "insert proud: 0.25 in", "collar: 0.40 in", "throat to tip: 30.75 in"} {
		if !slices.Contains(k.Texts(), words) {
			t.Errorf("the drawing does not say %q", words)
		}
	}
}

// Any build is drawn on the paper, its words clear of each other.
func TestAnyDrawingIsOnThePaper(t *testing.T) {
	drawn := 0
	rapid.Check(t, func(r *rapid.T) {
		j := enginetest.Job(r)
		b := &j.Builds[0]
		k := ticket.OfBuild(sheet.Evaluate(j), 0, origin)
		if b.Tube() <= 0 {
			if !strings.Contains(string(written(t, k, "html")), "no drawing") {
				r.Fatal("nothing says why there is no drawing")
			}
			return
		}
		drawn++
		s := sketched(t, k)
		if s.scale < 1 || s.width > 190 || s.height > 100 {
			r.Fatalf("1 : %g on %g by %g mm", s.scale, s.width, s.height)
		}
		if got, want := s.lines["tube"].to-s.lines["tube"].from, b.Tube().In(unit.Millimetre)/s.scale; math.Abs(got-want) > 0.003 {
			r.Fatalf("the shaft is drawn %g mm long, want %g", got, want)
		}
		for name, of := range s.shapes {
			if of.from < -0.8 || of.to > s.width+0.8 { // half the sign of an extra, or of the balance point
				r.Fatalf("%s reaches from %g to %g mm of %g", name, of.from, of.to, s.width)
			}
		}
		for i, e := range s.each {
			if e.y < 0 || e.y > s.height {
				r.Fatalf("%+v is off the drawing, which is %g mm high", e, s.height)
			}
			for _, o := range s.each[:i] {
				if e.name == "text" && o.name == "text" && e.y == o.y && math.Abs(e.x-o.x) < 0.9 {
					r.Fatalf("%q stands on %q", e.words, o.words)
				}
			}
		}
	})
	if drawn == 0 {
		t.Error("no build was drawn")
	}
}

// steps returns the work steps of a build as plain text says them, a step each.
func steps(t *testing.T, j *job.Job) []string {
	t.Helper()
	said := string(written(t, ticket.OfBuild(sheet.Evaluate(j), 0, origin), "text"))
	_, said, _ = strings.Cut(said, "\nWork steps\n")
	said, _, _ = strings.Cut(said, "\n\n")
	var out []string
	for _, line := range strings.Split(said, "\n")[1:] {
		if number := fmt.Sprintf("[ ] %2d. ", len(out)+1); strings.HasPrefix(line, number) {
			out = append(out, strings.TrimPrefix(line, number))
		} else if len(out) > 0 {
			out[len(out)-1] += " " + strings.TrimSpace(line)
		}
	}
	return out
}

// titles are the first words of steps, up to the full stop.
func titles(list []string) []string {
	var out []string
	for _, s := range list {
		title, _, _ := strings.Cut(s, ".")
		out = append(out, title)
	}
	return out
}

func TestStepsAreThoseOfTheBuild(t *testing.T) {
	all := steps(t, fullJob(t))
	if got, want := titles(all), []string{"Lay out the pieces", "Mark the shaft", "Measure the shaft", "Take the insert of its line", "Try and clean", "See to the extras", "Glue in the insert", "Glue on the collar", "Put on the wrap", "Fit the nock", "Fletch",
		"Weigh and balance it", "Spin it", "Shoot one before making the rest", "Make the rest", "Check them all"}; !slices.Equal(got, want) {
		t.Errorf("the steps are %q, want %q", got, want)
	}
	bare := fullJob(t)
	b := &bare.Builds[0]
	*b = arrow.Build{Name: "bare", Length: b.Length, Shaft: part.Shaft{WeightPerInch: b.Shaft.WeightPerInch}, Nock: part.Nock{Weight: b.Nock.Weight}, Head: part.Head{Weight: b.Head.Weight}}
	few := steps(t, bare)
	if got, want := titles(few), []string{"Lay out the pieces", "Mark the shaft", "Cut the shaft", "Square the ends", "Fit the nock", "Fit the head",
		"Weigh and balance it", "Spin it", "Shoot one before making the rest", "Make the rest", "Check them all"}; !slices.Equal(got, want) {
		t.Errorf("the steps of a bare build are %q, want %q", got, want)
	}
	says := func(j *job.Job, words ...string) {
		t.Helper()
		list := strings.Join(steps(t, j), "\n")
		for _, w := range words {
			if wanted := !strings.HasPrefix(w, "!"); strings.Contains(list, strings.TrimPrefix(w, "!")) != wanted {
				t.Errorf("that %q stands there is %v:\n%s", strings.TrimPrefix(w, "!"), !wanted, list)
			}
		}
	}
	says(fullJob(t), "It was weighed cut: end to end 29.00 in ± 0.06 in.", "With the nock that is 29.50 in = 29 1/2 in from the throat to the cut end", "goes up, in line with the cock vane.", "Bare it weighs what its line of the build list has in brackets.", "break nothing off them now. It is 1.00 in deep.",
		"Adhesive: slow epoxy. A thin coat, turned as it goes in: 1.00 in deep, flush with the cut end.", "Adhesive: the same. It covers the front 0.40 in of the shaft", "4.00 in long", "3 vanes, adhesive: thin gel. Noted of it: glue with primer. Rear edge 0.80 in ≈ 13/16 in ahead of the rear end of the shaft (1.30 in ≈ 1 5/16 in from the throat)",
		"Helical, curved around the shaft, turned right: with a vane on top its front lies to the right of its rear, seen from behind; angle 2°.", "Spacing 120°", "in line with the string slot, pointing up on the string", "Turned: mark with the cock vane.", "see that it lights", "broadhead wrench", "to its index: blades in line with the vanes.", "First with the field point: cover on, take the broadhead off with its wrench.", "a field point of 100 gr, thread 8-32", "Cover off, on rollers",
		"Of the build list it is arrow 1 and must weigh 446.5 ± ", "what its line of the build list says ± ", "Make the other 11 ", "Right: do not cut it again", "!measure it on the nock", "glue, 2 gr, its middle 29.00 in from the throat, 0.50 in behind the cut end")
	says(bare, "goes ______________________.", "measure it on the nock first", "!broadhead", "!lights", "Fit it as its maker says, with: ____", "Make the other ____", "!build list", "Each weighs ")
	blanks := fullJob(t)
	b = &blanks.Builds[0]
	b.Assembly.Value = arrow.Assembly{}
	b.Insert.Value.Proud = unit.Some(0.1 * unit.Inch)
	b.Vanes.Value.Count = 4
	says(blanks, "!reak off", "!insert whole", "Straight / offset / helical (circle one), turned left / right, the side to which the front of a vane lies when it is on top", "(circle one); angle __________°.", "in line with the string slot / square to it (circle one)", "Spacing 90°", "Adhesive: ______________________.", "0.10 in proud of the cut end", "where it has one, goes __________.")
	alone := fullJob(t)
	alone.Builds[0].Dozen = unit.Optional[dozen.Batch]{}
	says(alone, "29.00 in ± 0.06 in; leave a little for squaring", "until it weighs 50.0 ± 0.4 gr. What is left is 1.00 in deep", "Bare it weighs 249.6 ± 0.4 gr", "It must weigh 446.6 ± 1.5 gr", "Each weighs 446.6 ± 1.5 gr.", "Make the other 11 ", "mask, eyes protected", "never fingers", "with nobody in front of or beside the line of fire", "only at a target rated for it", "!build list")
	alone.Builds[0].Assembly.Value.Quantity = unit.Some(2)
	alone.Builds[0].Assembly.Value.Turn = unit.Some(arrow.Left)
	says(alone, "Shoot one before making the rest", "Make the other 1 ", "turned left: with a vane on top its front lies to the left of its rear")
	alone.Builds[0].Assembly.Value.CockVane = unit.Some(arrow.Out)
	says(alone, "square to the string slot, pointing out, away from the riser", "!in line with the string slot")
	whole := fullJob(t)
	b = &whole.Builds[0]
	b.Dozen = unit.Optional[dozen.Batch]{}
	b.Assembly.Value = arrow.Assembly{BreakOff: unit.Some(arrow.Whole), Fletching: unit.Some(arrow.Straight), Quantity: unit.Some(1)}
	b.Nock.Throat = unit.Some(1.3 * unit.Inch)
	says(whole, "Leave the insert whole", "Straight, along the shaft, not turned.", "!circle one), ____°", "Shoot it before it is handed over", "!before making the rest", "!Make the rest", "Rear edge at the rear end of the shaft")
	b.Nock.Throat = unit.Some(1.5 * unit.Inch)
	says(whole, "0.20 in ≈ 3/16 in behind the rear end of the shaft, which")
	b.Length = 1 * unit.Inch
	says(whole, "Do not cut", "!Cut the shaft.", "!Glue", "!Fletch", "!Shoot")
}

// cellsOf returns the rows of the table below a title of a ticket in Markdown.
func cellsOf(t *testing.T, k *ticket.Ticket, title string) [][]string {
	t.Helper()
	_, said, found := strings.Cut(string(written(t, k, "md")), "\n## "+title)
	if !found {
		t.Fatalf("there is no %s", title)
	}
	var out [][]string
	for _, line := range strings.Split(said, "\n") {
		if strings.HasPrefix(line, "## ") {
			break
		}
		if strings.HasPrefix(line, "| ") && !strings.HasPrefix(line, "| ---") {
			cells := strings.Split(strings.Trim(unescaped(line), "|"), "|")
			for i := range cells {
				cells[i] = strings.TrimSpace(cells[i])
			}
			out = append(out, cells)
		}
	}
	return out
}

func TestPartsAreCountedAndPriced(t *testing.T) {
	j := fullJob(t)
	k := ticket.OfBuild(sheet.Evaluate(j), 0, origin)
	rows := cellsOf(t, k, "Parts")
	if want := []string{"vanes: low", "3", "36", "6.0 ± 0.2 gr, weighed", "2.20 in long, height 0.50 in, thickness 0.025 in", "0.60 EUR", "21.60 EUR", "glue with primer"}; !slices.ContainsFunc(rows, func(r []string) bool { return slices.Equal(r, want) }) {
		t.Errorf("the vanes are not listed as %q: %q", want, rows)
	}
	if len(rows) != 9 {
		t.Errorf("%d rows, want a head and 8 pieces", len(rows))
	}
	// 14.5 + 3 + 2 + 2.5 + 1 + 3 × 0.6 + 1.2 + 0 = 26, and twelve times that.
	if !slices.Contains(k.Texts(), "Pieces for one arrow: 26.00 EUR, for 12: 312.00 EUR.") {
		t.Errorf("the prices do not add up: %q", k.Texts())
	}
	// Without a quantity it is as many as the dozen has, else a blank.
	j.Builds[0].Collar.Value.Price, j.Builds[0].Assembly.Value.Quantity = unit.Optional[float64]{}, unit.Optional[int]{}
	if k = ticket.OfBuild(sheet.Evaluate(j), 0, origin); !slices.Contains(k.Texts(), "Pieces for one arrow: 24.00 EUR, for 12: 288.00 EUR, and what has no price here: collar: steel.") {
		t.Errorf("the dozen's arrows do not count: %q", k.Texts())
	}
	j.Builds[0].Dozen = unit.Optional[dozen.Batch]{}
	k = ticket.OfBuild(sheet.Evaluate(j), 0, origin)
	if !slices.Contains(k.Texts(), "Pieces for one arrow: 24.00 EUR, and what has no price here: collar: steel.") {
		t.Errorf("what has no price is not said: %q", k.Texts())
	}
	if head := cellsOf(t, k, "Parts")[0]; slices.Contains(head, "in all") || !slices.Contains(head, "price each") {
		t.Errorf("without a quantity the columns are %q", head)
	}
	b := &j.Builds[0]
	*b = arrow.Build{Name: "bare", Length: b.Length, Shaft: part.Shaft{WeightPerInch: b.Shaft.WeightPerInch}, Nock: part.Nock{Weight: b.Nock.Weight}, Head: part.Head{Weight: b.Head.Weight}}
	k = ticket.OfBuild(sheet.Evaluate(j), 0, ticket.Origin{})
	if head := cellsOf(t, k, "Parts")[0]; slices.Contains(head, "price each") || slices.Contains(head, "note") {
		t.Errorf("without prices and notes the columns are %q", head)
	}
	said := string(written(t, k, "text"))
	for _, words := range []string{"for       ______________________\n", "printed   __________\n", "how many  __________\n", "wanted by __________\n"} {
		if !strings.Contains(said, words) {
			t.Errorf("no blank for %q", words)
		}
	}
}

// The build list names pieces by their places from 1, in the pairing's order, and says what
// is left over.
func TestTheBuildList(t *testing.T) {
	j := fullJob(t)
	b := &j.Builds[0]
	pairing, err := b.Dozen.Value.Pair()
	if err != nil {
		t.Fatal(err)
	}
	k := ticket.OfBuild(sheet.Evaluate(j), 0, origin)
	rows := cellsOf(t, k, "Build list")
	if len(rows) != 13 || !slices.Equal(rows[0], []string{"arrow", "shaft", "head", "insert", "nock", "arrow, gr", "weighed", "spun", "made"}) {
		t.Fatalf("the list is %q", rows)
	}
	for i, a := range pairing.Arrows {
		want := []string{fmt.Sprint(i + 1)}
		for k, at := range a.Piece {
			want = append(want, fmt.Sprintf("%d (%.1f)", at+1, (*b.Dozen.Value.Of(dozen.Kind(k)))[at].Weight.In(unit.Grain)))
		}
		// What is not weighed one by one: three vanes of 6 gr, wrap 6, collar 12, glue 2.
		want = append(want, fmt.Sprintf("%.1f", a.Total+18+6+12+2), "_______", "_______", "[ ]")
		if !slices.Equal(rows[i+1], want) {
			t.Errorf("arrow %d is %q, want %q", i+1, rows[i+1], want)
		}
	}
	spare := pairing.LeftOut[dozen.Shafts][0] + 1
	for _, words := range []string{fmt.Sprintf("Spare: shaft no. %d (%.1f).", spare, b.Dozen.Value.Shafts[spare-1].Weight.In(unit.Grain)), "Not to be used: shaft no. 3."} {
		if !slices.Contains(k.Texts(), words) {
			t.Errorf("the list does not say %q", words)
		}
	}
	// A list that was begun keeps its order, and what is made is ticked.
	b.Dozen.Value.Plan = b.Dozen.Value.PlanOf(pairing)
	b.Dozen.Value.Plan[1].Made = true
	begun := ticket.OfBuild(sheet.Evaluate(j), 0, origin)
	made := cellsOf(t, begun, "Build list")
	if made[2][8] != "[x]" || made[1][8] != "[ ]" || !slices.Contains(begun.Texts(), "Made already and ticked: 1.") {
		t.Errorf("arrow 2 alone is made: %q", made)
	}
	if html := string(written(t, begun, "html")); strings.Count(html, `<span class="box">×</span>`) != 1 {
		t.Error("HTML does not tick what is made")
	}
	// What was weighed is something else than the build.
	b.Head.Weight = 125 * unit.Grain
	if said := string(written(t, ticket.OfBuild(sheet.Evaluate(j), 0, origin), "md")); !strings.Contains(said, "what was weighed is not quite what the build says") {
		t.Error("that the heads weighed are not the build's is not said")
	}
	if said := string(written(t, k, "md")); strings.Contains(said, "not quite what") {
		t.Error("a list that agrees is said not to")
	}
	b.Dozen.Value = dozen.Batch{Arrows: unit.Some(3), Shafts: []dozen.Piece{{Weight: 249 * unit.Grain}}}
	if said := ticket.OfBuild(sheet.Evaluate(j), 0, origin).Texts(); !slices.Contains(said, "There is no build list: 3 arrows need 2 more shafts.") {
		t.Errorf("why there is no list is not said: %q", said)
	}
}

// What stands on every print, a line to sign, figures and what is absent.
func TestWhatStandsOnEveryTicket(t *testing.T) {
	s := sheet.Evaluate(many(fullJob(t), 3))
	build, bench := ticket.OfBuild(s, 0, origin), ticket.OfBench(s, origin)
	for _, words := range present.Standing {
		if !slices.Contains(build.Texts(), words) || !slices.Contains(bench.Texts(), words) {
			t.Errorf("not on both: %q", words)
		}
	}
	said := build.Texts()
	for _, words := range append(present.Proof(s, 0), "Built by ______________________ on __________, checked by ______________________ on __________, handed over __________", "invented", "Shop bow, peak weight 75 lb, draw length 29.5 in", "Quillon Marrowby", "revision 3 of 3, saved 2026-11-02 14:05", "2026-11-30", "12", "446.6 ± 0.8 gr", "15.77 ± 0.09 %") {
		if !slices.Contains(said, words) {
			t.Errorf("the ticket does not say %q", words)
		}
	}
	for _, c := range present.Remarks(s, 0) {
		if c.About == "weak" { // which is said as sure
			continue
		}
		if !slices.ContainsFunc(said, func(words string) bool { return strings.Contains(words, c.Text) }) {
			t.Errorf("the ticket does not say %q", c.Text)
		}
	}
	for n, d := range s.Job.DistancesOrDefault() {
		for _, k := range []figure.Key{figure.SightMark, figure.Speed, figure.Energy, figure.Drop, figure.RangeShort, figure.RangeLong, figure.WindDrift} {
			if c := present.FigureCellAt(s, 0, n, k); c.Absent == "" && !slices.ContainsFunc(said, func(words string) bool { return strings.HasPrefix(words, c.Value) }) {
				t.Errorf("the ticket does not say %s at %s", k, s.Units.Distance(d, 4))
			}
		}
	}
	if other := ticket.OfBuild(s, 2, origin).Texts(); !slices.Contains(other, "On its mark: how high it hits with the sight marks of Field; − is low.") || slices.ContainsFunc(said, func(words string) bool { return strings.HasPrefix(words, "On its mark") }) {
		t.Error("what is compared with the baseline is not said, or on the baseline itself")
	}
	// Side by side: each figure with its difference to the baseline.
	rows := cellsOf(t, bench, "Side by side")
	c := present.FigureCell(s, 2, 0)
	if want := fmt.Sprintf("%s ± %s (%s ± %s)", c.Value, c.U, c.Delta, c.DeltaU); !slices.ContainsFunc(rows, func(r []string) bool { return r[0] == "total weight, gr" && r[3] == want }) {
		t.Errorf("no %q in %q", want, rows)
	}
	// The baseline stands first wherever it stands on the bench.
	s.Job.Baseline = 1
	if head := cellsOf(t, ticket.OfBench(sheet.Evaluate(s.Job), origin), "Side by side")[0]; !strings.HasPrefix(head[1], "B 1 a very long") || !strings.HasPrefix(head[2], "A Field") {
		t.Errorf("the columns are %q", head)
	}
}

// What is said of the build need not hold for the arrows of its list: a danger that only they
// bring stands on top in every format, with the arrow.
func TestADangerOfTheBuildListIsOnTheTicket(t *testing.T) {
	j := fullJob(t)
	b := &j.Builds[0]
	j.Bow.Value.Peak, j.Bow.Value.MinimumArrow = unit.Some(60*unit.PoundForce), unit.Some(440*unit.Grain)
	if said := string(written(t, ticket.OfBuild(sheet.Evaluate(j), 0, origin), "text")); strings.Contains(said, "DANGER") {
		t.Fatalf("the build is dangerous itself:\n%s", said)
	}
	for i := range b.Dozen.Value.Shafts {
		b.Dozen.Value.Shafts[i].Weight -= 12 * unit.Grain
	}
	k := ticket.OfBuild(sheet.Evaluate(j), 0, origin)
	for _, format := range ticket.TicketFormats {
		said := plainly(t, k, format)
		if !strings.Contains(said, "DANGERarrow1ofthebuildlist") || !strings.Contains(said, "belowthebowmaker") {
			t.Errorf("%s does not say that the arrows are too light", format)
		}
	}
	// Pieces that are not the build's are a warning on the paper as on the screen.
	for i := range b.Dozen.Value.Heads {
		b.Dozen.Value.Heads[i].Weight += 40 * unit.Grain
	}
	if said := plainly(t, ticket.OfBuild(sheet.Evaluate(j), 0, origin), "pdf"); !strings.Contains(said, "WARNINGthebuildhasaheadof") {
		t.Error("that the heads are others is not said")
	}
}

// Every warning of every build is on the comparison behind the letters of its builds, and
// nobody else's.
func TestTheComparisonLettersItsCautions(t *testing.T) {
	j := many(fullJob(t), 3)
	j.Builds[1].Head.Blades = 0
	j.Builds[2].Shaft.Spine = unit.Some(0.2 * unit.Inch)
	s := sheet.Evaluate(j)
	texts := ticket.OfBench(s, origin).Texts()
	checked := map[caution.Level]int{}
	for i := range s.Builds {
		for _, c := range present.Remarks(s, i) {
			if c.Level != caution.Danger && c.Level != caution.Warn {
				continue
			}
			checked[c.Level]++
			at := slices.IndexFunc(texts, func(words string) bool { return strings.Contains(words, c.Text) })
			if at < 0 {
				t.Errorf("%s is not told of %s: %s", c.Code, present.Letter(i), c.Text)
				continue
			}
			level, rest, _ := strings.Cut(texts[at], " ")
			letters, _, _ := strings.Cut(rest, ":")
			for n := range s.Builds {
				has := slices.ContainsFunc(present.Remarks(s, n), func(o caution.Caution) bool { return o.Text == c.Text })
				if listed := slices.Contains(strings.Split(letters, ", "), present.Letter(n)); listed != has {
					t.Errorf("%q is told of %s: %v, want %v", texts[at], present.Letter(n), listed, has)
				}
			}
			if want := map[caution.Level]string{caution.Danger: "DANGER", caution.Warn: "WARNING"}[c.Level]; level != want {
				t.Errorf("%q begins with %q, want %q", texts[at], level, want)
			}
		}
	}
	if checked[caution.Danger] == 0 || checked[caution.Warn] < 3 {
		t.Errorf("checked %v", checked)
	}
}

// What is dangerous looks so in each format, and what is made is ticked in its own row.
func TestDangersAndTicksLookLikeIt(t *testing.T) {
	j := fullJob(t)
	batch := &j.Builds[0].Dozen.Value
	p, err := batch.Pair()
	if err != nil {
		t.Fatal(err)
	}
	batch.Plan = batch.PlanOf(p)
	batch.Plan[2].Made = true
	k := ticket.OfBuild(sheet.Evaluate(j), 0, origin)
	plain := string(written(t, k, "text"))
	if !strings.Contains(plain, strings.Repeat("!", 80)+"\n!! DANGER light arrow") || !regexp.MustCompile(`(?m)^3 .*\[x\]$`).MatchString(plain) || strings.Count(plain, "[x]") != 1 {
		t.Errorf("text:\n%s", plain)
	}
	if md := string(written(t, k, "md")); !strings.Contains(md, "> **DANGER** **light arrow") || !regexp.MustCompile(`(?m)^\| 3 \|.*\\\[x\\\] \|$`).MatchString(md) {
		t.Errorf("Markdown:\n%s", md)
	}
	html := string(written(t, k, "html"))
	if !strings.Contains(html, ".danger { border: 0.8mm solid black; font-weight: bold }") || !strings.Contains(html, `<div class="danger">`) || strings.Contains(html, "display: none") {
		t.Error("HTML: a danger does not look like one")
	}
	if !regexp.MustCompile(`(?s)<tr><td class="short">3</td>.*?<span class="box">×</span></td></tr>\n<tr><td class="short">4</td>`).MatchString(html) || strings.Count(html, "×</span>") != 1 {
		t.Error("HTML: arrow 3 alone is made")
	}
	// In a PDF a tick is two strokes across its box.
	with := contents(t, written(t, k, "pdf"))[0]
	batch.Plan[2].Made = false
	without := contents(t, written(t, ticket.OfBuild(sheet.Evaluate(j), 0, origin), "pdf"))[0]
	if a, b := strings.Count(with, " l S"), strings.Count(without, " l S"); a != b+2 {
		t.Errorf("PDF: %d strokes with a tick, %d without", a, b)
	}
	font := func(words string) string {
		before, _, found := strings.Cut(with, words)
		all := regexp.MustCompile(`/(F\w+) [\d.]+ Tf`).FindAllStringSubmatch(before, -1)
		if !found || len(all) == 0 {
			t.Fatalf("PDF: no %q", words)
		}
		return all[len(all)-1][1]
	}
	if font("(DANGER light") != font("(Field)") || font("(DANGER light") == font("(Make ONE") {
		t.Error("PDF: a danger is not in bold type")
	}
}
