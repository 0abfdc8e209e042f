package ticket

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"html/template"
	"math"
	"slices"
	"strings"

	"foreshaft/engine/label"
	"foreshaft/ui/text"
)

// Sizes of the drawing in mm.
const (
	margin     = 6
	above      = 14 // name and unit over the strip
	stripWidth = 22
	barAt      = 34  // how far right of the strip's edge the checking bar stands
	barLength  = 100 // what a ruler must find
	drawWidth  = 90
	mostPaper  = 250 // what an A4 sheet holds between its margins

	// leastGap keeps ticks apart that a printer would run together.
	leastGap = 0.2
)

// tick is a mark as it is drawn.
type tick struct {
	y      float64 // mm from the top of the drawing
	text   string  // its distance; empty where there is no room for it
	size   float64 // of the text
	length float64
	bold   bool
}

// weight says how much a distance is worth on a crowded strip: tens before fives
// before the rest.
func (s *Strip) weight(m Mark) int {
	switch d := s.Distance.Of(float64(m.Distance)); {
	case multiple(d, 10):
		return 2
	case multiple(d, 5):
		return 1
	}
	return 0
}

func multiple(x, of float64) bool { return math.Abs(math.Remainder(x, of)) < 1e-6 }

var styles = [...]tick{{size: 1.8, length: 4}, {size: 2.4, length: 6}, {size: 3, length: 9, bold: true}}

// ticks places the marks: those worth most first, and others only where there is
// room beside them.
func (s *Strip) ticks() []tick {
	marks := s.branch()
	if len(marks) == 0 {
		return nil
	}
	top := math.Inf(1)
	for _, m := range marks {
		top = min(top, s.travel(m.Reading))
	}
	var out []tick
	for weight := len(styles) - 1; weight >= 0; weight-- {
		for _, m := range marks {
			if s.weight(m) != weight {
				continue
			}
			t := styles[weight]
			t.y, t.text = margin+above+s.travel(m.Reading)-top, s.distance(m)
			tight, crowded := false, false
			for _, o := range out {
				gap := math.Abs(o.y - t.y)
				tight = tight || gap < leastGap
				crowded = crowded || o.text != "" && gap < (o.size+t.size)/2
			}
			if crowded {
				t.text = ""
			}
			if !tight {
				out = append(out, t)
			}
		}
	}
	slices.SortFunc(out, func(a, b tick) int {
		if a.y < b.y {
			return -1
		}
		return 1
	})
	return out
}

// Words stand beside the bar below its label.
const (
	wordWidth = 38 // letters of a line
	wordAt    = 12 // mm from the top of the bar to the first line
	wordLine  = 2.6
	wordGap   = 1 // between sentences
)

// beside returns the lines of sentences as they stand beside the bar, an empty
// one behind each sentence, and how far they reach below the top of the bar, in mm.
func beside(sentences []string) ([]string, float64) {
	var lines []string
	reach := float64(wordAt)
	for _, w := range sentences {
		wrapped := text.Wrap(label.Clean(w), wordWidth)
		lines = append(append(lines, wrapped...), "")
		reach += float64(len(wrapped))*wordLine + wordGap
	}
	return lines, reach
}

// nameWidth is how many letters of a name fit above the strip.
const nameWidth = 40

// SVG draws the strip at true size: an inch on the sight's scale is an inch on
// paper, and the bar beside it is 100 mm long. A drawing can be printed alone, so
// it carries the notes and what stands on every print.
func (s *Strip) SVG() []byte { return s.draw(s.remarks()) }

// draw draws the strip with sentences beside it.
func (s *Strip) draw(sentences []string) []byte {
	var out bytes.Buffer
	lines, reach := beside(sentences)
	put := func(format string, args ...any) { fmt.Fprintf(&out, format+"\n", args...) }
	height := 2*margin + above + max(s.length(), barLength, reach) + 4
	put(`<svg xmlns="http://www.w3.org/2000/svg" width="%dmm" height="%.3fmm" viewBox="0 0 %d %.3f" font-family="sans-serif" fill="black">`, drawWidth, height, drawWidth, height)
	put(`<rect width="%d" height="%.3f" fill="white"/>`, drawWidth, height)
	write := func(x, y, size float64, bold bool, words string) {
		weight := ""
		if bold {
			weight = ` font-weight="bold"`
		}
		var escaped bytes.Buffer                    // without the characters that XML forbids, which names may hold
		_ = xml.EscapeText(&escaped, []byte(words)) // a Buffer takes everything
		put(`<text x="%.3f" y="%.3f" font-size="%.2f"%s>%s</text>`, x, y, size, weight, escaped.String())
	}
	write(margin, margin+3, 3.2, true, text.Cut(label.Clean(s.Build), nameWidth))
	write(margin, margin+8, 2.6, false, strings.TrimSpace("sight marks, "+s.Distance.Symbol+" "+s.Where))
	ticks := s.ticks()
	if len(ticks) == 0 {
		write(margin, margin+above, 3, false, none)
	}
	top, length := float64(margin+above), s.length()
	if len(ticks) > 0 {
		// The outline to cut along stands clear of the first and the last mark.
		put(`<rect x="%d" y="%.3f" width="%d" height="%.3f" fill="none" stroke="black" stroke-width="0.1"/>`, margin, top-2, stripWidth, length+4)
	}
	for _, t := range ticks {
		put(`<line class="mark" x1="%d" x2="%.3f" y1="%.4f" y2="%.4f" stroke="black" stroke-width="0.15"/>`, margin, margin+t.length, t.y, t.y)
		if t.text != "" {
			// Digits reach about seven tenths of the size above the line they stand on.
			write(margin+t.length+1, t.y+0.35*t.size, t.size, t.bold, t.text)
		}
	}
	bar := float64(margin + barAt)
	put(`<g stroke="black" stroke-width="0.15">`)
	put(`<line id="bar" x1="%.3f" x2="%.3f" y1="%.3f" y2="%.3f"/>`, bar, bar, top, top+barLength)
	for _, y := range []float64{top, top + barLength} {
		put(`<line x1="%.3f" x2="%.3f" y1="%.3f" y2="%.3f"/>`, bar-2, bar+2, y, y)
	}
	put(`</g>`)
	write(bar+3, top+2, 2.6, false, "100 mm: measure this")
	write(bar+3, top+6, 2.6, false, "after printing")
	y := top + wordAt
	for _, l := range lines {
		if l == "" {
			y += wordGap
			continue
		}
		write(bar+3, y, 2, false, l)
		y += wordLine
	}
	put(`</svg>`)
	return out.Bytes()
}

var page = template.Must(template.New("strip").Parse(`<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8"><title>Sight marks of {{.Build}} {{.Where}}</title>
<style>
@page { size: A4; margin: 10mm }
body { font: 10pt sans-serif; color: black; background: white; margin: 0; max-width: 190mm }
h1 { font-size: 13pt; overflow-wrap: anywhere } p { margin: 1mm 0; overflow-wrap: anywhere }
.sheet { display: flex; align-items: flex-start } .sheet > div:first-child { flex: none } .sheet > div:last-child { flex: 1 }
.readings { columns: 3; column-gap: 4mm } .readings p { display: flex; gap: 4mm; justify-content: space-between; break-inside: avoid; border-bottom: 0.1mm solid #999; margin: 0 }
</style></head><body>
<h1>Sight marks of {{.Build}} {{.Where}}</h1>
{{range .About}}<p>{{.}}</p>
{{end}}{{range .Advice}}<p><b>{{.}}</b></p>
{{end}}<div class="sheet"><div>{{.Drawing}}</div><div>
{{if .Rows}}<p><b>{{.Head}}</b></p><div class="readings">{{range .Rows}}<p><span>{{.Distance}}</span><span>{{.Reading}}</span></p>{{end}}</div>{{else}}<p>` + none + `</p>{{end}}
</div></div>
{{range .Remarks}}<p>{{.}}</p>
{{end}}</body></html>
`))

// HTML writes a page that prints the strip at true size, with a table of the
// readings and everything there is to know.
func (s *Strip) HTML() []byte {
	type row struct{ Distance, Reading string }
	rows := make([]row, len(s.Marks))
	for i, m := range s.Marks {
		rows[i] = row{s.distance(m), s.reading(m)}
	}
	clean := func(list []string) []string {
		out := make([]string, len(list))
		for i := range list {
			out[i] = label.Clean(list[i])
		}
		return out
	}
	var out bytes.Buffer
	err := page.Execute(&out, map[string]any{
		"Build": text.Cut(label.Clean(s.Build), pageWidth), "Where": s.Where, "About": clean(s.About), "Advice": advice,
		// The page says everything itself: the drawing in it need not say it again.
		"Drawing": template.HTML(s.draw(nil)),
		"Head":    s.Distance.Symbol + " and " + s.readingHead(), "Rows": rows, "Remarks": clean(s.remarks()),
	})
	if err != nil { // the template and what goes into it are our own
		panic("ticket: " + err.Error())
	}
	return out.Bytes()
}
