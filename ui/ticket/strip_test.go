package ticket_test

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"foreshaft/engine/job"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
	"foreshaft/ui/present"
	"foreshaft/ui/text"
	"foreshaft/ui/ticket"
)

// strip has invented marks: 0.6 in at 20 yd, growing by a hundredth of an inch
// with every yard and a little more each time.
func strip(from, to int) *ticket.Strip {
	s := &ticket.Strip{Build: "Invented", About: []string{"Invented marks."}, Distance: unit.Yards, Reading: unit.Inches}
	for d := from; d <= to; d++ {
		x := float64(d - 20)
		s.Marks = append(s.Marks, ticket.Mark{Distance: unit.Length(d) * unit.Yard, Reading: unit.Length(0.6+0.01*x+0.0002*x*x) * unit.Inch})
	}
	return s
}

// element is a line or a text of a drawing, in mm.
type element struct {
	name, id, class, words string
	x, y, x2, y2, size     float64
}

// drawn reads a drawing and checks that its units are millimetres at true size.
func drawn(t *testing.T, data []byte) []element {
	t.Helper()
	var out []element
	d := xml.NewDecoder(bytes.NewReader(data))
	for {
		token, err := d.Token()
		if err == io.EOF {
			return out
		}
		if err != nil {
			t.Fatalf("not well-formed: %v", err)
		}
		switch token := token.(type) {
		case xml.StartElement:
			values := map[string]string{}
			for _, a := range token.Attr {
				values[a.Name.Local] = a.Value
			}
			number := func(key string) float64 { x, _ := strconv.ParseFloat(values[key], 64); return x }
			if token.Name.Local == "svg" {
				box := strings.Fields(values["viewBox"])
				if len(box) != 4 || values["width"] != box[2]+"mm" || values["height"] != box[3]+"mm" {
					t.Errorf("the drawing is not at true size: %v", values)
				}
			}
			e := element{name: token.Name.Local, id: values["id"], class: values["class"], x: number("x1"), y: number("y1"), x2: number("x2"), y2: number("y2"), size: number("font-size")}
			if e.name == "text" {
				e.x, e.y = number("x"), number("y")
			}
			out = append(out, e)
		case xml.CharData:
			if n := len(out); n > 0 && out[n-1].name == "text" {
				out[n-1].words += strings.TrimSpace(string(token))
			}
		}
	}
}

func marksOf(list []element) []float64 {
	var out []float64
	for _, e := range list {
		if e.class == "mark" {
			out = append(out, e.y)
		}
	}
	return out
}

// An inch on the scale is 25.4 mm on paper (international inch, NIST SP 811), and
// the bar is 100 mm long.
func TestTheStripIsAtTrueSize(t *testing.T) {
	s := strip(20, 60)
	list := drawn(t, s.SVG())
	marks := marksOf(list)
	if len(marks) != 41 {
		t.Fatalf("%d marks are drawn, want 41", len(marks))
	}
	for i, y := range marks {
		x := float64(i)
		if want := (0.01*x + 0.0002*x*x) * 25.4; math.Abs(y-marks[0]-want) > 2e-4 {
			t.Errorf("mark %d lies %.4f mm below the first, want %.4f", i, y-marks[0], want)
		}
	}
	bar := slices.IndexFunc(list, func(e element) bool { return e.id == "bar" })
	if bar < 0 || list[bar].y2-list[bar].y != 100 || list[bar].x != list[bar].x2 {
		t.Errorf("the bar is %+v", list[bar])
	}
}

// Numbers that would stand on each other are left out, tens last.
func TestNumbersStandApart(t *testing.T) {
	for _, stretch := range []float64{0.05, 0.3, 1, 3, 20} {
		s := strip(20, 80)
		for i := range s.Marks {
			s.Marks[i].Reading *= unit.Length(stretch)
		}
		var numbers []element
		for _, e := range drawn(t, s.SVG()) {
			if _, err := strconv.Atoi(e.words); e.name == "text" && err == nil {
				numbers = append(numbers, e)
			}
		}
		for i, a := range numbers {
			for _, b := range numbers[:i] {
				if gap := math.Abs((a.y - 0.35*a.size) - (b.y - 0.35*b.size)); gap < (a.size+b.size)/2-1e-3 {
					t.Errorf("× %g: %s and %s are %.2f mm apart", stretch, a.words, b.words, gap)
				}
			}
		}
		if stretch >= 1 {
			for _, ten := range []string{"20", "30", "40", "50", "60", "70", "80"} {
				if !slices.ContainsFunc(numbers, func(e element) bool { return e.words == ten }) {
					t.Errorf("× %g: %s is not written", stretch, ten)
				}
			}
		}
		for i, y := range marksOf(drawn(t, s.SVG())) {
			if all := marksOf(drawn(t, s.SVG())); i > 0 && y-all[i-1] < 0.2-1e-3 {
				t.Errorf("× %g: two ticks are %.2f mm apart", stretch, y-all[i-1])
			}
		}
	}
}

// Close to the bow a nearer distance asks for the mark of a farther one: only one
// branch can be drawn, and all are listed.
func TestMarksThatTurnBack(t *testing.T) {
	s := strip(4, 40)
	for i := range s.Marks[:10] {
		s.Marks[i].Reading = unit.Length(2-0.1*float64(i)) * unit.Inch
	}
	marks := marksOf(drawn(t, s.SVG()))
	if len(marks) >= len(s.Marks) || len(marks) < 20 {
		t.Errorf("%d of %d marks are drawn", len(marks), len(s.Marks))
	}
	for _, out := range []string{s.Text(), string(s.HTML())} {
		if !strings.Contains(out, "turn back") || !strings.Contains(out, "2.000") || !strings.Contains(out, "1.900") {
			t.Errorf("the near marks are not listed, or nothing is said:\n%s", out)
		}
	}
	if strings.Contains(strip(20, 40).Text(), "turn back") {
		t.Error("marks that go one way are said to turn back")
	}
}

// Whatever a build is called, it drives no terminal and no browser.
func TestHostileNames(t *testing.T) {
	for _, name := range []string{"<script>alert(1)</script>", "a\x1b[31mb\u202ec\u0000d", strings.Repeat("long ", 2000), "</svg><x>&amp;\"'", ""} {
		s := strip(20, 60)
		s.Build, s.About, s.Notes = name, []string{name}, []string{name}
		for _, line := range strings.Split(s.Text(), "\n") {
			if w := text.Width(line); w > 80 {
				t.Errorf("%.20q: a line of %d cells", name, w)
			}
			if strings.ContainsAny(line, "\x1b\x00\u202e") {
				t.Errorf("%.20q: %q", name, line)
			}
		}
		drawn(t, s.SVG())
		for _, data := range [][]byte{s.SVG(), s.HTML()} {
			if bytes.Contains(data, []byte("<script")) || bytes.Contains(data, []byte("<x>")) || bytes.ContainsAny(data, "\x1b\x00") {
				t.Errorf("%.20q gets through", name)
			}
		}
	}
}

func TestWhatStandsOnEveryPrint(t *testing.T) {
	for _, s := range []*ticket.Strip{strip(20, 60), {Build: "none", Distance: unit.Metres, Reading: unit.Millimetres}} {
		for _, format := range []string{"txt", "html"} {
			data, err := s.As(format)
			if err != nil {
				t.Fatal(err)
			}
			plain := strings.Join(strings.Fields(strings.ReplaceAll(string(data), "&#39;", "'")), " ")
			for _, sentence := range present.Standing {
				if !strings.Contains(plain, sentence) {
					t.Errorf("%s of %s: does not say %q", format, s.Build, sentence)
				}
			}
		}
		drawn(t, s.SVG())
	}
	if _, err := strip(20, 60).As("bmp"); err == nil || !strings.Contains(err.Error(), "txt, html, svg") {
		t.Errorf("an unknown format: %v", err)
	}
}

// example is the invented job of the project's test data with other marks and
// units.
func example(t *testing.T, marks string, units unit.System) *sheet.Sheet {
	t.Helper()
	j, err := job.Decode(fmt.Appendf(nil, `{"format":"foreshaft-job/1",
	"bow":{"peak_weight_lb":68,"draw_length_in":29.5,"readings":[{"arrow_gr":420,"speed_fps":291,"sd_fps":1}]},
	"sight":{"peep_to_pin_in":34,"peep_above_nock_in":4.5,"marks":[%s]},
	"builds":[{"name":"a","length_in":29.5,"shaft":{"weight_gr_per_in":8.6,"outer_diameter_in":0.246},"nock":{"weight_gr":9},"head":{"weight_gr":150,"length_in":1}},
	 {"name":"b","length_in":29.5,"shaft":{"weight_gr_per_in":10.6,"outer_diameter_in":0.246},"nock":{"weight_gr":9},"head":{"weight_gr":200,"length_in":1}}]}`, marks))
	if err != nil {
		t.Fatal(err)
	}
	return sheet.EvaluateIn(j, units)
}

func readingAt(s *ticket.Strip, d unit.Length) float64 {
	i := slices.IndexFunc(s.Marks, func(m ticket.Mark) bool { return math.Abs(float64(m.Distance-d)) < 1e-9 })
	return s.Marks[i].Reading.In(unit.Inch)
}

// The strip says what the sheet says; one mark that was shot moves it as a whole,
// two put it on the sight's own scale.
func TestTheStripAgreesWithTheMarksThatWereShot(t *testing.T) {
	of := func(marks string, build int) *ticket.Strip {
		s, err := ticket.MarksOf(example(t, marks, unit.System{}), build, 15*unit.Yard, 80*unit.Yard)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	plain, one, two := of("", 0), of(`{"distance_yd":40,"mark_in":5}`, 0), of(`{"distance_yd":20,"mark_in":10},{"distance_yd":60,"mark_in":40}`, 0)
	if len(plain.Marks) != 66 || len(one.Marks) != 66 {
		t.Fatalf("%d and %d marks, want 66", len(plain.Marks), len(one.Marks))
	}
	if got := readingAt(one, 40*unit.Yard); math.Abs(got-5) > 1e-9 {
		t.Errorf("anchored at 40 yd to 5 it says %v", got)
	}
	if a, b := readingAt(plain, 70*unit.Yard)-readingAt(plain, 30*unit.Yard), readingAt(one, 70*unit.Yard)-readingAt(one, 30*unit.Yard); math.Abs(a-b) > 1e-9 {
		t.Errorf("anchoring changes the spread from %v to %v", a, b)
	}
	if a, b := readingAt(two, 20*unit.Yard), readingAt(two, 60*unit.Yard); math.Abs(a-10) > 1e-9 || math.Abs(b-40) > 1e-9 {
		t.Errorf("fitted to 10 and 40 it says %v and %v", a, b)
	}
	// A heavier arrow needs lower pins, which are greater marks, and more so farther off.
	heavy := of("", 1)
	if near, far := readingAt(heavy, 20*unit.Yard)-readingAt(plain, 20*unit.Yard), readingAt(heavy, 60*unit.Yard)-readingAt(plain, 60*unit.Yard); near <= 0 || far <= near {
		t.Errorf("the heavier arrow's marks are %v and %v greater", near, far)
	}
	// Another build's strip is moved by as much as the baseline's was off.
	if moved := readingAt(of(`{"distance_yd":40,"mark_in":5}`, 1), 60*unit.Yard) - readingAt(heavy, 60*unit.Yard); math.Abs(moved-(5-readingAt(plain, 40*unit.Yard))) > 1e-9 {
		t.Errorf("the other build's strip is moved by %v", moved)
	}
}

func TestAStripInMetres(t *testing.T) {
	metric, err := unit.ParseSystem("m,mm")
	if err != nil {
		t.Fatal(err)
	}
	s, err := ticket.MarksOf(example(t, "", metric), 0, 18*unit.Yard, 60*unit.Yard)
	if err != nil {
		t.Fatal(err)
	}
	if first := s.Marks[0].Distance; math.Abs(float64(first)-17) > 1e-9 || len(s.Marks) != 38 { // 16.46 to 54.86 m
		t.Errorf("%d marks from %v m on", len(s.Marks), first)
	}
	if out := s.Text(); !strings.Contains(out, "    m      mm") || strings.Contains(out, " yd ") {
		t.Errorf("not in metres and millimetres:\n%s", out)
	}
}

func TestAStripThatCannotBe(t *testing.T) {
	s := example(t, "", unit.System{})
	if _, err := ticket.MarksOf(s, 0, 20.2*unit.Yard, 20.8*unit.Yard); err == nil || !strings.Contains(err.Error(), "no whole yd") {
		t.Errorf("between two yards: %v", err)
	}
	j := s.Job.Clone()
	j.Sight = unit.Optional[job.Sight]{}
	if _, err := ticket.MarksOf(sheet.Evaluate(j), 0, 20*unit.Yard, 60*unit.Yard); err == nil || !strings.Contains(err.Error(), "needs the sight") {
		t.Errorf("without a sight: %v", err)
	}
}

// Numbers of a sight that are not inches are drawn as the travel of its pin, which
// its geometry gives, and the slope stands on the drawing itself.
func TestNumbersThatAreNoInchesAreDrawnAsTravel(t *testing.T) {
	plain, err := ticket.MarksOf(example(t, "", unit.System{}), 0, 20*unit.Yard, 60*unit.Yard)
	if err != nil {
		t.Fatal(err)
	}
	span := func(s *ticket.Strip) float64 {
		list := marksOf(drawn(t, s.SVG()))
		return list[len(list)-1] - list[0]
	}
	// The sight's numbers are ten times the travel, from 3 on.
	at := func(d unit.Length) float64 { return 3 + 10*readingAt(plain, d) }
	own := fmt.Sprintf(`{"distance_yd":20,"mark_in":%v},{"distance_yd":60,"mark_in":%v}`, at(20*unit.Yard), at(60*unit.Yard))
	scaled, err := ticket.MarksOf(example(t, own, unit.System{}), 0, 20*unit.Yard, 60*unit.Yard)
	if err != nil {
		t.Fatal(err)
	}
	if got, want := span(scaled), span(plain); math.Abs(got-want) > 1e-2 {
		t.Errorf("the strip is %.3f mm long, the pin travels %.3f", got, want)
	}
	if got := readingAt(scaled, 60*unit.Yard); math.Abs(got-at(60*unit.Yard)) > 1e-6 {
		t.Errorf("the table says %v", got)
	}
	for _, format := range ticket.Formats {
		data, _ := scaled.As(format)
		if !strings.Contains(strings.Join(strings.Fields(string(data)), " "), "not inches") {
			t.Errorf("%s does not say that the numbers are not inches", format)
		}
	}
	j := example(t, "", unit.System{}).Job.Clone()
	j.Slope = unit.Some(-25 * unit.Degree)
	sloped, err := ticket.MarksOf(sheet.Evaluate(j), 0, 20*unit.Yard, 60*unit.Yard)
	if err != nil || !strings.Contains(string(sloped.SVG()), "on a slope of −25°") || !strings.Contains(sloped.Text(), "on a slope of −25°") {
		t.Errorf("the slope is not on the strip: %v", err)
	}
	if _, err := ticket.MarksOf(example(t, "", unit.System{}), 0, 60*unit.Yard, 20*unit.Yard); err == nil || !strings.Contains(err.Error(), "backwards") {
		t.Errorf("backwards: %v", err)
	}
}

// The one mark was shot in on the level: on a slope the strip differs from it by as
// much as without it.
func TestAnAnchorIsAMarkOnTheLevel(t *testing.T) {
	at60 := func(marks string, slope float64) float64 {
		j := example(t, marks, unit.System{}).Job.Clone()
		j.Slope = unit.Some(unit.Angle(slope) * unit.Degree)
		s, err := ticket.MarksOf(sheet.Evaluate(j), 0, 20*unit.Yard, 60*unit.Yard)
		if err != nil {
			t.Fatal(err)
		}
		return readingAt(s, 60*unit.Yard)
	}
	const one = `{"distance_yd":60,"mark_in":5}`
	if level := at60(one, 0); math.Abs(level-5) > 1e-9 {
		t.Errorf("on the level it says %v", level)
	}
	if got, want := at60(one, 30)-at60(one, 0), at60("", 30)-at60("", 0); math.Abs(got-want) > 1e-9 || want > -0.05 {
		t.Errorf("a slope moves the anchored mark by %v, the other by %v", got, want)
	}
}
