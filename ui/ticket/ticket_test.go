package ticket_test

import (
	"bytes"
	"compress/zlib"
	"encoding/xml"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"
	"unicode"

	"pgregory.net/rapid"

	"foreshaft/engine/arrow"
	"foreshaft/engine/caution"
	"foreshaft/engine/dozen"
	"foreshaft/engine/enginetest"
	"foreshaft/engine/job"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
	"foreshaft/ui/text"
	"foreshaft/ui/ticket"
)

var origin = ticket.Origin{Date: time.Date(2026, 11, 30, 0, 0, 0, 0, time.UTC), Source: "revision 3 of 3, saved 2026-11-02 14:05", Customer: "Quillon Marrowby"}

// fullJob is the project's job file with everything in it, with a dozen that was weighed and
// with dangers.
func fullJob(t testing.TB) *job.Job {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("..", "..", "testdata", "jobs", "full.json"))
	if err != nil {
		t.Fatal(err)
	}
	j, err := job.Decode(data)
	if err != nil {
		t.Fatal(err)
	}
	b := &j.Builds[0]
	b.Head.Blades, b.Head.CutWidth = 3, unit.Some(1.2*unit.Inch)
	b.Nock.Lighted = true
	j.Bow.Value.Peak = unit.Some(75 * unit.PoundForce) // above its maximum of 70
	j.Bow.Value.MinimumArrow = unit.Some(480 * unit.Grain)
	b.Dozen = unit.Some(weighed(12))
	return j
}

// weighed is a batch of so many arrows, with two shafts more.
func weighed(n int) dozen.Batch {
	out := dozen.Batch{Arrows: unit.Some(n)}
	around := func(k dozen.Kind, count int, weight unit.Mass) {
		for i := range count {
			*out.Of(k) = append(*out.Of(k), dozen.Piece{Weight: weight + unit.Mass(i*7%11)*0.1*unit.Grain})
		}
	}
	around(dozen.Shafts, n+2, 249*unit.Grain)
	around(dozen.Heads, n, 99.5*unit.Grain)
	around(dozen.Inserts, n, 49.6*unit.Grain)
	around(dozen.Nocks, n, 8.6*unit.Grain)
	out.Shafts[2].LeftOut = true
	return out
}

func written(t testing.TB, k *ticket.Ticket, format string) []byte {
	t.Helper()
	data, err := k.As(format)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// set is a text where it stands on a page of a PDF, in mm from the left and the bottom.
type set struct {
	page  int
	x, y  float64
	words string // in Windows-1252
}

var (
	pdfStream = regexp.MustCompile(`(?s)stream\n(.*?)\nendstream`)
	pdfText   = regexp.MustCompile(`BT ([-\d.]+) ([-\d.]+) Td \((.*)\) Tj ET`)
	pdfLine   = regexp.MustCompile(`([-\d.]+) ([-\d.]+) m ([-\d.]+) ([-\d.]+) l S`)
)

const point = 25.4 / 72 // mm

// contents returns what stands on the pages of a PDF, a page each.
func contents(t testing.TB, data []byte) []string {
	t.Helper()
	var out []string
	for _, m := range pdfStream.FindAllSubmatch(data, -1) {
		r, err := zlib.NewReader(bytes.NewReader(m[1]))
		if err != nil {
			continue // no page: their streams are all compressed
		}
		page, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, string(page))
	}
	if want := bytes.Count(data, []byte("/Type /Page\n")); want != len(out) || want == 0 {
		t.Fatalf("%d pages, %d of them read", want, len(out))
	}
	return out
}

func setTexts(t testing.TB, data []byte) []set {
	t.Helper()
	number := func(s string) float64 { x, _ := strconv.ParseFloat(s, 64); return x * point }
	var out []set
	for n, page := range contents(t, data) {
		for _, m := range pdfText.FindAllStringSubmatch(page, -1) {
			words := strings.NewReplacer(`\\`, `\`, `\(`, `(`, `\)`, `)`).Replace(m[3])
			out = append(out, set{n + 1, number(m[1]), number(m[2]), words})
		}
	}
	return out
}

// solid leaves out the blanks of a text, which lines are broken at.
func solid(words string) string { return strings.ReplaceAll(words, " ", "") }

// missing returns the texts that a ticket does not say in a format.
func missing(t testing.TB, k *ticket.Ticket, format string) []string {
	t.Helper()
	data := string(written(t, k, format))
	write := func(words string) string { return words }
	var said []string
	switch format {
	case "text":
		said = []string{solid(strings.ReplaceAll(data, "\n", ""))}
		columns := map[int]string{} // by where they begin
		for _, line := range strings.Split(data, "\n") {
			for at, rest := 0, line; rest != ""; {
				words, more, _ := strings.Cut(rest, "  ")
				if words != "" {
					columns[at] += solid(words)
				}
				skipped := len(rest) - len(more) - len(words)
				at += text.Width(words) + skipped
				rest = more
				for strings.HasPrefix(rest, " ") {
					at, rest = at+1, rest[1:]
				}
			}
		}
		for _, words := range columns {
			said = append(said, words)
		}
	case "md":
		said = []string{solid(strings.ReplaceAll(unescaped(data), "\n", ""))}
	case "html":
		var all strings.Builder
		page(t, data, nil, func(words string) { all.WriteString(words) })
		said = []string{strings.Join(strings.Fields(all.String()), "")}
	case "pdf":
		write = ticket.Windows
		var all strings.Builder
		columns := map[string]string{}
		for _, one := range setTexts(t, []byte(data)) {
			all.WriteString(solid(one.words))
			columns[fmt.Sprintf("%.1f", one.x)] += solid(one.words)
		}
		said = []string{all.String()}
		for _, words := range columns {
			said = append(said, words)
		}
	}
	var out []string
	for _, words := range k.Texts() {
		want := solid(write(words))
		if !slices.ContainsFunc(said, func(s string) bool { return strings.Contains(s, want) }) {
			out = append(out, words)
		}
	}
	return out
}

// unescaped takes the escapes out of Markdown, and the signs in front of quotes and lists.
func unescaped(data string) string {
	var out strings.Builder
	for i := 0; i < len(data); i++ {
		if data[i] == '\\' && i+1 < len(data) && data[i+1] < 0x80 && unicode.In(rune(data[i+1]), unicode.P, unicode.S) {
			i++
		} else if data[i] == '*' {
			continue // our own bold type: an escaped one was taken above
		}
		out.WriteByte(data[i])
	}
	return out.String()
}

// page reads a page of HTML and fails where it is not made of whole elements.
func page(t testing.TB, data string, element func(xml.StartElement), words func(string)) {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(data))
	d.Strict, d.AutoClose, d.Entity = false, xml.HTMLAutoClose, xml.HTMLEntity
	for {
		token, err := d.Token()
		if err == io.EOF {
			return
		}
		if err != nil {
			t.Fatalf("not well-formed: %v", err)
		}
		switch token := token.(type) {
		case xml.StartElement:
			if element != nil {
				element(token)
			}
		case xml.CharData:
			if words != nil {
				words(string(token))
			}
		}
	}
}

// Whatever stands on the ticket stands on it in every format: no format lacks what another
// has.
func TestEveryFormatSaysEverything(t *testing.T) {
	check := func(t testing.TB, k *ticket.Ticket) {
		if len(k.Texts()) < 10 {
			t.Fatalf("the ticket has only %q", k.Texts())
		}
		for _, format := range ticket.TicketFormats {
			for _, words := range missing(t, k, format) {
				t.Errorf("%s does not say %q", format, words)
			}
		}
	}
	for _, units := range []string{"", "mm,g,m,m/s,N", "cm"} {
		shown, err := unit.ParseSystem(units)
		if err != nil {
			t.Fatal(err)
		}
		check(t, ticket.OfBuild(sheet.EvaluateIn(fullJob(t), shown), 0, origin))
		check(t, ticket.OfBench(sheet.EvaluateIn(many(fullJob(t), 12), shown), origin))
	}
	rapid.Check(t, func(r *rapid.T) {
		j := enginetest.Job(r)
		s := sheet.Evaluate(j)
		for _, k := range []*ticket.Ticket{ticket.OfBuild(s, rapid.IntRange(0, len(j.Builds)-1).Draw(r, "build"), ticket.Origin{}), ticket.OfBench(s, origin)} {
			for _, format := range ticket.TicketFormats {
				if lacks := missing(t, k, format); len(lacks) > 0 {
					r.Fatalf("%s does not say %q", format, lacks)
				}
			}
		}
	})
}

// Every danger of a build, and every one that could not be looked for, stands in full at the
// top of every format, with the word.
func TestDangersStandAtTheTop(t *testing.T) {
	bare := fullJob(t)
	bare.Bow = job.New().Bow
	for name, j := range map[string]*job.Job{"dangers": fullJob(t), "no bow": bare} {
		s := sheet.Evaluate(j)
		count := 0
		for _, format := range ticket.TicketFormats {
			for kind, k := range map[string]*ticket.Ticket{"build": ticket.OfBuild(s, 0, origin), "bench": ticket.OfBench(s, origin)} {
				said := plainly(t, k, format)
				for _, c := range s.Builds[0].Cautions {
					if c.Level != caution.Danger && !c.Unchecked {
						continue
					}
					count++
					words := solid(c.Text)
					if format == "pdf" {
						words = ticket.Windows(words)
					}
					at := strings.Index(said, words)
					if at < 0 || !strings.Contains(said[:at], "DANGER") {
						t.Errorf("%s, %s of a %s: does not say DANGER and %q", name, format, kind, c.Text)
					}
					for _, below := range []string{"Parts", "Sidebyside", "WARN", "Scale1:"} {
						if other := strings.Index(said, below); other >= 0 && other < at {
							t.Errorf("%s, %s of a %s: %s stands above %q", name, format, kind, below, c.Text)
						}
					}
				}
			}
		}
		if count < 4*2*2 {
			t.Errorf("%s: only %d dangers were looked for", name, count)
		}
	}
}

// plainly returns what a format says, without blanks.
func plainly(t testing.TB, k *ticket.Ticket, format string) string {
	t.Helper()
	data := string(written(t, k, format))
	switch format {
	case "text":
		return solid(strings.ReplaceAll(data, "\n", ""))
	case "md":
		return solid(strings.ReplaceAll(unescaped(data), "\n", ""))
	case "html":
		_, data, _ = strings.Cut(data, "<body>")
		var all strings.Builder
		page(t, "<html><body>"+data, nil, func(words string) { all.WriteString(words) })
		return strings.Join(strings.Fields(all.String()), "")
	}
	var all strings.Builder
	for _, one := range setTexts(t, []byte(data)) {
		all.WriteString(solid(one.words))
	}
	return all.String()
}

// many returns a job with so many builds that differ, all with long names.
func many(j *job.Job, n int) *job.Job {
	j = j.Clone()
	for i := len(j.Builds); i < n; i++ {
		b := j.Builds[0].Clone()
		b.Name = fmt.Sprintf("%d %s", i, strings.Repeat("a very long name of a build ", 4))
		b.Shaft.Name, b.Head.Name, b.Nock.Name = strings.Repeat("long shaft name ", 6), strings.Repeat("longheadname", 8), strings.Repeat("nock ", 30)
		b.Head.Weight += unit.Mass(10*i) * unit.Grain
		b.Collar.Given = i%2 == 0
		j.Builds = append(j.Builds, b)
	}
	return j
}

// hostile are texts that would act on a terminal, a browser, Markdown or a PDF.
var hostile = []string{
	"<script>alert(1)</script>", "a | b || c |", "```\n# x\n```", "](http://example.org) [x](javascript:alert(1))", "# heading", "- item", "+ item", "12. item", "3) item", "=====", "---",
	"&lt;b&gt; &amp; &#60;", "\x1b[31mred\x1b]0;title\a\x1b[2J", "one\ntwo\r\nthree\u2028four", "\u202egnp.exe \u2066x\u2069 \u200f", "\ufffe \uffff \U0001fffe", strings.Repeat("long", 2500),
	"矢羽根の名前", strings.Repeat("矢", 60), "\\) Tj ET (x", "</svg></style><b>", "*bold* _it_ ~~no~~ <http://example.org> www.example.org a@example.org $x$ ^", "{{.Title}}", "\x00\x7f\u0085\xff", "\"' onload=x", "   ", "\t\tcode",
	"Łódź ½ −2 ≈ α e\u0301 ﬁ",
}

// fill puts a text into every field of a job that holds free text.
func fill(v reflect.Value, words string) {
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			if f := v.Type().Field(i); f.IsExported() && f.Tag.Get("one") == "" && f.Name != "Format" && f.Name != "Drawer" && f.Name != "Search" && f.Name != "Proven" {
				fill(v.Field(i), words)
			}
		}
	case reflect.Slice:
		for i := range v.Len() {
			fill(v.Index(i), words)
		}
	case reflect.String:
		if v.Type() == reflect.TypeFor[string]() {
			v.SetString(words)
		}
	}
}

func TestHostileTextsAreNeutralEverywhere(t *testing.T) {
	elements := []string{"html", "head", "meta", "title", "style", "body", "h1", "h2", "div", "section", "p", "b", "svg", "polygon", "line", "text", "table", "thead", "tr", "th", "td", "span", "ol", "li"}
	attributes := []string{"lang", "charset", "class", "xmlns", "width", "height", "viewBox", "font-family", "font-size", "points", "x1", "x2", "y1", "y2", "x", "y"}
	for _, words := range hostile {
		j := many(fullJob(t), 3)
		fill(reflect.ValueOf(j).Elem(), words)
		s := sheet.Evaluate(j)
		o := ticket.Origin{Source: words, Customer: words}
		for _, k := range []*ticket.Ticket{ticket.OfBuild(s, 0, o), ticket.OfBench(s, o)} {
			for _, format := range ticket.TicketFormats {
				data := string(written(t, k, format))
				if format != "pdf" {
					for _, r := range data {
						if r != '\n' && (unicode.IsControl(r) || unicode.Is(unicode.Cf, r)) || r&0xfffe == 0xfffe || r == '\u2028' {
							t.Fatalf("%.20q, %s: %U gets through", words, format, r)
						}
					}
				}
				switch format {
				case "text":
					for _, line := range strings.Split(data, "\n") {
						if w := text.Width(line); w > 80 {
							t.Errorf("%.20q: a line of %d cells: %q", words, w, line)
						}
					}
				case "md":
					neutralMarkdown(t, words, data)
				case "html":
					page(t, data, func(e xml.StartElement) {
						if !slices.Contains(elements, e.Name.Local) {
							t.Errorf("%.20q: an element <%s>", words, e.Name.Local)
						}
						for _, a := range e.Attr {
							if !slices.Contains(attributes, a.Name.Local) {
								t.Errorf("%.20q: an attribute %s", words, a.Name.Local)
							}
						}
					}, nil)
				case "pdf":
					for _, one := range setTexts(t, []byte(data)) {
						if i := strings.IndexFunc(one.words, func(r rune) bool { return r < ' ' || r == 0x7f }); i >= 0 {
							t.Errorf("%.20q: a control character in %q", words, one.words)
						}
						if one.x < 9.9 || one.x > 287.1 || one.y < 3 || one.y > 287.1 {
							t.Errorf("%.20q: %q is set at %.1f, %.1f mm", words, one.words, one.x, one.y)
						}
					}
				}
			}
			if len(words) > 1000 {
				continue // whose lines cross pages, with the head between them
			}
			for _, format := range ticket.TicketFormats {
				for _, lacks := range missing(t, k, format) {
					t.Errorf("%.20q: %s does not say %q", words, format, lacks)
				}
			}
		}
	}
}

// ours is what a line of our Markdown begins with.
var ours = regexp.MustCompile(`^(#{1,2} |> |>$|- |\d+\. \[ \] |\| |\|( --- \|)+$)?`)

// neutralMarkdown fails where a line of Markdown has markup that is not ours.
func neutralMarkdown(t *testing.T, words, data string) {
	t.Helper()
	pipes, fenced := 0, false
	lines := strings.Split(data, "\n")
	for n, line := range lines {
		if line == "```" {
			fenced = !fenced
			continue
		}
		if fenced {
			continue
		}
		prefix := ours.FindString(line)
		rest, bare := line[len(prefix):], 0
		for i := 0; i < len(rest); i++ {
			switch c := rest[i]; {
			case c == '\\':
				i++
			case c == '|':
				bare++
			case strings.IndexByte("`_<>[]&~$^", c) >= 0:
				t.Errorf("%.20q: %q has a bare %c", words, line, c)
			}
		}
		if prefix == "" && rest != "" && (strings.IndexByte("#-+=>", rest[0]) >= 0 || regexp.MustCompile(`^\d+[.)]( |$)`).MatchString(rest) || rest[0] == ' ' || rest[0] == '\t') {
			t.Errorf("%.20q: %q begins a block", words, line)
		}
		if prefix == "" && rest != "" && (lines[n+1] != "" || lines[n-1] != "") {
			t.Errorf("%.20q: %q is no paragraph of its own", words, line)
		}
		if strings.HasPrefix(prefix, "|") {
			if prefix != "| " {
				bare = strings.Count(line, "|") - 1
			}
			if pipes != 0 && bare != pipes {
				t.Errorf("%.20q: a row of %d cells below one of %d: %q", words, bare, pipes, line)
			}
			pipes = bare
		} else {
			pipes = 0
		}
	}
}

func TestMarkdownIsEscaped(t *testing.T) {
	for in, want := range map[string]string{
		"plain 29.50 in": "plain 29.50 in", "a|b": `a\|b`, "# x": `\# x`, "- x": `\- x`, "a - b": "a - b", "1. x": `1\. x`, "12) x": `12\) x`, "v1.2": "v1.2", "29.50 in": "29.50 in", "7.": `7\.`, "`x`": "\\`x\\`",
		"](http://e.org)": `\](http\://e.org)`, "www.e.org": `www\.e.org`, "a@b.c": `a\@b.c`, "<b>&amp;": `\<b\>\&amp;`, "____": `\_\_\_\_`, "\\": `\\`, "": "",
	} {
		if got := ticket.Literal(in); got != want {
			t.Errorf("%q becomes %q, want %q", in, got, want)
		}
	}
}

// What the letters of a PDF lack is written with others, and never as other letters than it
// is; the PDF says so where a letter is lost.
func TestLettersOfAPDF(t *testing.T) {
	for in, want := range map[string]string{
		"29 ± 2°": "29 \xb1 2\xb0", "−0.5 ≈ ½": "-0.5 ~ \xbd", "e\u0301": "\xe9", "Łódź": "L\xf3dz", "ﬁ": "fi", "Ａ": "A", "矢": "?", "α→ω": "?->?", "€ “x”": "\x80 \x93x\x94", "\u0301": "", "plain": "plain",
	} {
		if got := ticket.Windows(in); got != want {
			t.Errorf("%q becomes %q, want %q", in, got, want)
		}
	}
	for name, lost := range map[string]bool{"Łódź": false, "矢": true} {
		j := fullJob(t)
		j.Builds[0].Name = name
		said := plainly(t, ticket.OfBuild(sheet.Evaluate(j), 0, origin), "pdf")
		if strings.Contains(said, "Lettersthatthistypedoesnothave") != lost || !strings.Contains(said, solid(ticket.Windows(name))) {
			t.Errorf("%s: lost is %v", name, !lost)
		}
	}
}

func pagesOf(t testing.TB, k *ticket.Ticket) int {
	t.Helper()
	return len(contents(t, written(t, k, "pdf")))
}

// A full ticket, and eight builds with the longest names, are one page each, in type that
// can be read.
func TestOnePage(t *testing.T) {
	build := ticket.OfBuild(sheet.Evaluate(fullJob(t)), 0, origin)
	bench := ticket.OfBench(sheet.Evaluate(many(fullJob(t), 8)), origin)
	for name, k := range map[string]*ticket.Ticket{"build": build, "bench": bench} {
		if n := pagesOf(t, k); n != 1 {
			t.Errorf("%s: %d pages", name, n)
		}
		if size := k.TypeSize(); size < 6 {
			t.Errorf("%s: type of %.2f pt", name, size)
		}
		if html := string(written(t, k, "html")); !strings.Contains(html, "@page { size: A4") || strings.Contains(html, "A4 landscape") != (name == "bench") {
			t.Errorf("%s: not a page of A4", name)
		}
	}
	if box := []byte("/MediaBox [0 0 841.89 595.28]"); !bytes.Contains(written(t, bench, "pdf"), box) || bytes.Contains(written(t, build, "pdf"), box) {
		t.Error("the comparison, and it alone, is to lie across")
	}
	// Where there is less to say it is said larger.
	small := fullJob(t)
	small.Builds[0].Dozen, small.Builds[0].Proof, small.Bow = unit.Optional[dozen.Batch]{}, unit.Optional[arrow.Proof]{}, fullJob(t).Bow
	small.Bow.Value.Peak, small.Bow.Value.MinimumArrow = unit.Some(68*unit.PoundForce), unit.Some(350*unit.Grain)
	if a, b := ticket.OfBuild(sheet.Evaluate(small), 0, origin).TypeSize(), build.TypeSize(); a <= b {
		t.Errorf("less is set in %.2f pt, more in %.2f", a, b)
	}
}

// Nothing is cut off: what one page does not hold goes on to further ones, which say whose
// they are, and tables go on below their head.
func TestFurtherPages(t *testing.T) {
	j := fullJob(t)
	j.Builds[0].Dozen = unit.Some(weighed(400))
	j.Builds[0].Dozen.Value.Nocks, j.Builds[0].Dozen.Value.Inserts, j.Builds[0].Dozen.Value.Heads = nil, nil, nil
	k := ticket.OfBuild(sheet.Evaluate(j), 0, origin)
	texts := setTexts(t, written(t, k, "pdf"))
	pages := texts[len(texts)-1].page
	if pages < 2 {
		t.Fatal("400 arrows fit one page")
	}
	for n := 1; n <= pages; n++ {
		var said string
		for _, one := range texts {
			if one.page == n {
				said += solid(one.words)
			}
		}
		for _, words := range []string{"Field", "QuillonMarrowby", fmt.Sprintf("page%dof%d", n, pages)} {
			if !strings.Contains(said, words) {
				t.Errorf("page %d does not say %s", n, words)
			}
		}
		// A page that lists arrows says what the columns are.
		if strings.Contains(said, "251.") && !strings.Contains(said, "arrow,gr") && n < pages {
			t.Errorf("page %d has rows without a head", n)
		}
	}
	made := 0
	for _, page := range contents(t, written(t, k, "pdf")) {
		made += strings.Count(page, " re S")
	}
	if steps := strings.Count(string(written(t, k, "text")), "[ ]") - 400; made != 400+steps {
		t.Errorf("%d boxes, want 400 and %d", made, steps)
	}
	if lacks := missing(t, k, "pdf"); len(lacks) > 0 {
		t.Errorf("not said: %.200q", lacks)
	}
	// A comparison of many builds has the baseline in every block.
	wide := ticket.OfBench(sheet.Evaluate(many(fullJob(t), 20)), origin)
	if n := strings.Count(string(written(t, wide, "html")), "<th>A Field</th>"); n != 3 {
		t.Errorf("20 builds have the baseline %d times, want in 3 blocks", n)
	}
	if n := pagesOf(t, wide); n < 2 || n > 5 {
		t.Errorf("20 builds take %d pages", n)
	}
}

func TestTheSameTicketIsTheSameBytes(t *testing.T) {
	for _, o := range []ticket.Origin{origin, {}} {
		for _, format := range append(slices.Clone(ticket.TicketFormats), "txt") {
			again := func(of func(s *sheet.Sheet) *ticket.Ticket) []byte {
				return written(t, of(sheet.Evaluate(many(fullJob(t), 3))), format)
			}
			for _, of := range []func(s *sheet.Sheet) *ticket.Ticket{
				func(s *sheet.Sheet) *ticket.Ticket { return ticket.OfBuild(s, 1, o) },
				func(s *sheet.Sheet) *ticket.Ticket { return ticket.OfBench(s, o) },
			} {
				if !bytes.Equal(again(of), again(of)) {
					t.Errorf("%s differs from one time to the next", format)
				}
			}
		}
	}
	if _, err := ticket.OfBench(sheet.Evaluate(fullJob(t)), origin).As("docx"); err == nil || !strings.Contains(err.Error(), "text, md, html, pdf") {
		t.Errorf("an unknown format: %v", err)
	}
	if empty := ticket.OfBench(sheet.Evaluate(job.New()), origin); !strings.Contains(plainly(t, empty, "pdf"), "nobuildonthebench") {
		t.Error("an empty bench is not said to be empty")
	}
}

// In other units no unit of the trade is left.
func TestATicketInMetricUnits(t *testing.T) {
	shown, err := unit.ParseSystem("mm,g,m,m/s,N")
	if err != nil {
		t.Fatal(err)
	}
	s := sheet.EvaluateIn(many(fullJob(t), 3), shown)
	for _, k := range []*ticket.Ticket{ticket.OfBuild(s, 0, origin), ticket.OfBench(s, origin)} {
		for _, words := range k.Texts() {
			if found := regexp.MustCompile(`\d (in|gr|yd|ft/s|lb|ft·lbf)\b|, (in|gr|yd|ft/s|lb)$`).FindString(strings.ReplaceAll(words, "gr/lb", "")); found != "" {
				t.Errorf("%q has %q", words, found)
			}
		}
	}
}

func BenchmarkTicket(b *testing.B) {
	build, bench := sheet.Evaluate(fullJob(b)), sheet.Evaluate(many(fullJob(b), 8))
	for _, format := range ticket.TicketFormats {
		b.Run("build/"+format, func(b *testing.B) {
			for b.Loop() {
				written(b, ticket.OfBuild(build, 0, origin), format)
			}
		})
		b.Run("bench/"+format, func(b *testing.B) {
			for b.Loop() {
				written(b, ticket.OfBench(bench, origin), format)
			}
		})
	}
}
