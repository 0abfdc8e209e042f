package ticket

import (
	"bytes"
	"fmt"
	"strings"
	"sync"
	"time"
	"unicode"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/unicode/norm"
)

// coreWidths returns how wide the letters of Windows-1252 are in the regular and the bold
// type that every PDF reader has, against the size.
var coreWidths = sync.OnceValue(func() *[2][256]float64 {
	out := new([2][256]float64)
	pdf := fpdf.New("P", "mm", "A4", "")
	for weight, style := range []string{"", "B"} {
		pdf.SetFont("Helvetica", style, 10)
		for b := 1; b < 256; b++ {
			out[weight][b] = float64(pdf.GetStringSymbolWidth(string([]byte{byte(b)}))) / 1000
		}
	}
	return out
})

// standIns are for signs that Windows-1252 lacks.
var standIns = map[rune]string{
	'−': "-", '≈': "~", '≤': "<=", '≥': ">=", '≠': "/=", '→': "->", '←': "<-", '′': "'", '″': "\"", '‐': "-", '‑': "-", '⁄': "/", '∞': "oo", '√': "sqrt", '∙': "·", '△': "^", '▲': "^",
	'ł': "l", 'Ł': "L", 'đ': "d", 'Đ': "D", 'ħ': "h", 'Ħ': "H", 'ı': "i", 'ŋ': "n", 'Ŋ': "N", 'ŧ': "t", 'Ŧ': "T", 'ẞ': "SS", 'ə': "e", 'Δ': "Delta ", 'Ω': "Ohm",
}

// windows writes a text in Windows-1252, the letters that the core type of PDF has. What
// that lacks is written with letters that it has: a sign as words or other signs, a letter
// without its accents, else ?; lost reports that there was one of these.
func windows(words string) (out string, lost bool) {
	if plainASCII(words) {
		return words, false
	}
	var b strings.Builder
	for _, r := range norm.NFC.String(words) {
		if code, ok := charmap.Windows1252.EncodeRune(r); ok && !unicode.IsControl(r) {
			b.WriteByte(code)
			continue
		}
		if other, ok := standIns[r]; ok {
			b.WriteString(encoded(other))
			continue
		}
		if unicode.Is(unicode.Mn, r) {
			continue // an accent that goes with no letter here
		}
		if other := encoded(norm.NFKD.String(string(r))); other != "" {
			b.WriteString(other)
			continue
		}
		b.WriteByte('?')
		lost = true
	}
	return b.String(), lost
}

func plainASCII(words string) bool {
	for i := range len(words) {
		if words[i] < ' ' || words[i] > '~' {
			return false
		}
	}
	return true
}

// encoded writes what Windows-1252 has of a text.
func encoded(words string) string {
	var b strings.Builder
	for _, r := range words {
		if code, ok := charmap.Windows1252.EncodeRune(r); ok && !unicode.IsControl(r) {
			b.WriteByte(code)
		}
	}
	return b.String()
}

// undated is the date of a PDF whose ticket has none: any, as long as it is the same one.
var undated = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)

// pdf writes the ticket as a PDF of A4 pages.
func (t *Ticket) pdf() ([]byte, error) {
	p := t.fit()
	orientation := "P"
	if t.wide {
		orientation = "L"
	}
	pdf := fpdf.New(orientation, "mm", "A4", "")
	pdf.SetAutoPageBreak(false, 0)
	pdf.SetCatalogSort(true)
	date := t.date.UTC()
	if t.date.IsZero() {
		date = undated
	}
	pdf.SetCreationDate(date)
	pdf.SetModificationDate(date)
	pdf.SetTitle(t.title, true)
	pdf.SetCreator("Foreshaft", true)
	pdf.SetLang("en")
	at := 0
	for n := 1; n <= p.page; n++ {
		pdf.AddPage()
		if p.page > 1 {
			words := fmt.Sprintf("page %d of %d", n, p.page)
			p.setter.write(pdf, []run{{words, false}}, p.setter.size, p.wide-paperMargin-p.setter.wide(words, false), p.bottom()+2)
		}
		for ; at < len(p.out) && p.out[at].page == n; at++ {
			p.out[at].atom.put(pdf, p.out[at].x, p.out[at].y)
		}
	}
	var out bytes.Buffer
	err := pdf.Output(&out)
	return out.Bytes(), err
}

// picture makes an atom of a drawing.
func (s *setter) picture(d *drawing) atom {
	return atom{height: d.height, put: func(pdf *fpdf.Fpdf, x, y float64) {
		for _, one := range d.shapes {
			points := make([]fpdf.PointType, len(one.points))
			for i, p := range one.points {
				points[i] = fpdf.PointType{X: x + p[0], Y: y + p[1]}
			}
			pdf.SetLineWidth(0.15)
			pdf.SetFillColor(255, 255, 255)
			if one.fill {
				pdf.SetFillColor(0, 0, 0)
			}
			pdf.Polygon(points, "DF")
		}
		pdf.SetLineWidth(0.12)
		for i := range d.dimensions {
			m := &d.dimensions[i]
			for _, l := range m.segments() {
				pdf.Line(x+l[0], y+l[1], x+l[2], y+l[3])
			}
			pdf.SetFont("Helvetica", "", letters/point)
			pdf.Text(x+m.textX, y+m.y+letterDrop, s.encode(m.words))
		}
	}}
}
