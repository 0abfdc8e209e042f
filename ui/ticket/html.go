package ticket

import (
	"bytes"
	"fmt"
	"html/template"
	"strings"

	"foreshaft/engine/caution"
)

// Type on paper: the largest size is tried first, and what does not fit at the smallest goes
// on to a further page.
const (
	largestType  = 9.0 // pt
	smallestType = 6.0
	typeStep     = 0.25
)

// htmlType is how much smaller type is in a browser than where we set it ourselves: its
// letters may be wider, and it breaks columns in its own way.
const htmlType = 0.92

var ticketPage = template.Must(template.New("ticket").Parse(`<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8"><title>{{.Title}}</title>
<style>
@page { size: A4{{if .Wide}} landscape{{end}}; margin: 10mm }
body { font: {{.Size}}pt/1.12 Helvetica, Arial, "Liberation Sans", sans-serif; color: black; background: white; margin: 0 auto; width: {{if .Wide}}277mm{{else}}190mm{{end}} }
h1 { font-size: 1.4em; margin: 0 0 0.2em; overflow-wrap: anywhere } h2 { font-size: 1.1em; margin: 0.4em 0 0.1em; break-after: avoid; overflow-wrap: anywhere }
p, ol { margin: 0; overflow-wrap: anywhere } ol { padding: 0; list-style: none } li { break-inside: avoid; margin: 0.1em 0; padding-left: 1.3em; text-indent: -1.3em } .whole { break-inside: avoid }
.head p { display: inline }
.danger, .warn { padding: 0.3em 0.5em; margin: 0.3em 0.5mm 0.3em 0 } .danger { border: 0.8mm solid black; font-weight: bold } .warn { border: 0.2mm solid black }
table { border-collapse: collapse; margin: 0.15em 0; width: 100% } th, td { text-align: left; vertical-align: top; padding: 0.05em 0.5em 0 0; border-bottom: 0.1mm solid #999; overflow-wrap: anywhere; min-width: 2em } tr { break-inside: avoid }
.fixed { table-layout: fixed } .short { white-space: nowrap; overflow-wrap: normal } .fixed .short { white-space: normal; overflow-wrap: anywhere }
.apart { height: 1em } .flow { columns: 2; column-gap: 5mm }
svg { display: block; margin: 0.3em 0 } svg .outline { fill: white; stroke: black; stroke-width: 0.15 } svg .full { fill: black; stroke: black; stroke-width: 0.15 } svg line { stroke: black; stroke-width: 0.12 }
.box { display: inline-block; width: 0.75em; height: 0.75em; border: 0.2mm solid black; line-height: 0.75em; text-align: center; overflow: hidden }
</style></head><body>
<h1>{{.Title}}</h1>
<div class="head">{{range .Head}}<p><b>{{.Name}}:</b> {{.Words}}</p>
{{end}}</div>
{{range .Groups}}{{if .Flows}}<div class="flow">
{{end}}{{range .Sections}}<section{{if .Whole}} class="whole"{{end}}>{{if .Title}}<h2>{{.Title}}</h2>
{{else if not .Level}}<div class="apart"></div>
{{end}}{{if .Level}}<div class="{{.Level}}">
{{range .Words}}<p>{{.}}</p>
{{end}}</div>
{{else}}{{range .Words}}<p>{{.}}</p>
{{end}}{{end}}{{with .Drawing}}<p>{{.Title}}</p>
<svg xmlns="http://www.w3.org/2000/svg" width="{{.Width}}mm" height="{{.Height}}mm" viewBox="0 0 {{.Width}} {{.Height}}" font-family="Helvetica, Arial, sans-serif" font-size="{{.Letters}}">
{{range .Shapes}}<polygon class="{{if .Full}}full{{else}}outline{{end}} {{.Part}}" points="{{.Points}}"/>
{{end}}{{range .Lines}}<line class="{{.Name}}" x1="{{.X1}}" y1="{{.Y1}}" x2="{{.X2}}" y2="{{.Y2}}"/>
{{end}}{{range .Texts}}<text x="{{.X}}" y="{{.Y}}">{{.Words}}</text>
{{end}}</svg>
{{end}}{{range .Tables}}<table{{if .Fixed}} class="fixed"{{end}}><thead><tr>{{range .Head}}<th>{{.}}</th>{{end}}{{if .Ticks}}<th>made</th>{{end}}</tr></thead>
{{range .Rows}}<tr>{{range .Cells}}<td{{if .Short}} class="short"{{end}}>{{.Words}}</td>{{end}}{{if .Box}}<td><span class="box">{{if .Ticked}}×{{end}}</span></td>{{end}}</tr>
{{end}}</table>
{{end}}{{if .Steps}}<ol>
{{range .Steps}}<li><span class="box"></span> {{.Number}}. <b>{{.What}}</b> {{.How}}</li>
{{end}}</ol>
{{end}}{{range .After}}<p>{{.}}</p>
{{end}}</section>
{{end}}{{if .Flows}}</div>
{{end}}{{end}}</body></html>
`))

// What the page's template reads.
type (
	htmlGroup struct {
		Flows    bool
		Sections []htmlSection
	}
	htmlSection struct {
		Title        string
		Level        caution.Level
		Words, After []string
		Drawing      *htmlDrawing
		Tables       []htmlTable
		Steps        []htmlStep
		Whole        bool // not parted by the end of a column
	}
	htmlTable struct {
		Head         []string
		Rows         []htmlRow
		Fixed, Ticks bool
	}
	htmlRow struct {
		Cells       []htmlCell
		Box, Ticked bool
	}
	htmlCell struct {
		Words string
		Short bool // stays on one line
	}
	htmlStep struct {
		Number    int
		What, How string
	}
	htmlDrawing struct {
		Title, Width, Height, Letters string
		Shapes                        []htmlShape
		Lines                         []htmlLine
		Texts                         []htmlText
	}
	htmlShape struct {
		Full         bool
		Part, Points string
	}
	htmlLine struct{ Name, X1, Y1, X2, Y2 string }
	htmlText struct{ X, Y, Words string }
	htmlFact struct{ Name, Words string }
)

// html writes the ticket as a page that prints on A4. Everything goes through the template,
// which escapes it for its place; the drawing does too.
func (t *Ticket) html() ([]byte, error) {
	var head []htmlFact
	for _, f := range t.head {
		head = append(head, htmlFact{f.name, f.words})
	}
	var groups []htmlGroup
	for i := range t.sections {
		s := &t.sections[i]
		if n := len(groups); n == 0 || groups[n-1].Flows != s.flows {
			groups = append(groups, htmlGroup{Flows: s.flows})
		}
		g := &groups[len(groups)-1]
		g.Sections = append(g.Sections, htmlSectionOf(s))
	}
	var out bytes.Buffer
	err := ticketPage.Execute(&out, map[string]any{
		"Title": t.title, "Wide": t.wide, "Head": head, "Groups": groups,
		"Size": fmt.Sprintf("%.2f", htmlType*t.typeSize()),
	})
	return out.Bytes(), err
}

func htmlSectionOf(s *section) htmlSection {
	out := htmlSection{Title: s.title, Level: s.level, Words: s.words, After: s.after, Whole: s.flows && s.table != nil && len(s.table.rows) < togetherRows}
	for i, step := range s.steps {
		out.Steps = append(out.Steps, htmlStep{i + 1, step.what, step.how})
	}
	if s.table != nil {
		for _, t := range s.table.blocks(across + 1) {
			block := htmlTable{Head: t.head, Fixed: s.table.keep > 0, Ticks: t.ticks != nil}
			for i, cells := range t.rows {
				block.Rows = append(block.Rows, htmlRow{htmlCells(cells), t.ticks != nil, t.ticks != nil && t.ticks[i]})
			}
			out.Tables = append(out.Tables, block)
		}
	}
	if s.drawing != nil {
		out.Drawing = htmlDrawingOf(s.drawing)
	}
	return out
}

// shortCell is how many letters of a cell stay on one line.
const shortCell = 14

func htmlCells(cells []string) []htmlCell {
	out := make([]htmlCell, len(cells))
	for i, c := range cells {
		out[i] = htmlCell{c, len([]rune(c)) <= shortCell}
	}
	return out
}

func htmlDrawingOf(d *drawing) *htmlDrawing {
	mm := func(x float64) string { return fmt.Sprintf("%.3f", x) }
	out := &htmlDrawing{Title: d.title, Width: mm(d.width), Height: mm(d.height), Letters: mm(letters)}
	for _, s := range d.shapes {
		var points []string
		for _, p := range s.points {
			points = append(points, mm(p[0])+","+mm(p[1]))
		}
		out.Shapes = append(out.Shapes, htmlShape{s.fill, s.part, strings.Join(points, " ")})
	}
	for i := range d.dimensions {
		m := &d.dimensions[i]
		for _, l := range m.segments() {
			out.Lines = append(out.Lines, htmlLine{m.name, mm(l[0]), mm(l[1]), mm(l[2]), mm(l[3])})
		}
		out.Texts = append(out.Texts, htmlText{mm(m.textX), mm(m.y + letterDrop), m.words})
	}
	return out
}
