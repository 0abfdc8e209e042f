package theme

import (
	"fmt"
	"image/color"
	"math"
	"regexp"
	"strconv"
	"testing"

	"github.com/charmbracelet/x/ansi"
	"github.com/lucasb-eyer/go-colorful"
	"github.com/muesli/termenv"
)

// minimumContrast is the lowest contrast of text that WCAG 2.1, success
// criterion 1.4.3, level AA, allows.
const minimumContrast = 4.5

// grounds are terminal backgrounds that people use with each theme, from the
// extreme to the mildest.
var grounds = map[Name][]string{
	Dark:  {"#000000", "#101418", "#1e1e1e", "#282a36", "#002b36", "#2e3440"},
	Light: {"#ffffff", "#fafafa", "#f4f1ea", "#fdf6e3", "#eee8d5"},
}

// names are the tokens in words, for messages.
var names = [tokens]string{
	"plain", "quiet", "heading", "label", "focus", "changed", "note", "warn", "danger", "rule", "input", "key", "baseline",
	"the lowest shade", "the second shade", "the middle shade", "the fourth shade", "the highest shade",
}

func TestLuminanceAndContrastOfKnownColours(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want float64
	}{
		{"#ffffff", "#000000", 21},
		{"#ffffff", "#ffffff", 1},
		// Widely published: the lightest greys that do and do not pass on white.
		{"#767676", "#ffffff", 4.54},
		{"#777777", "#ffffff", 4.48},
		// Pure parts against black are 1 + weight/0.05.
		{"#ff0000", "#000000", 5.252},
		{"#00ff00", "#000000", 15.304},
		{"#0000ff", "#000000", 2.444},
	} {
		for _, pair := range [][2]string{{c.a, c.b}, {c.b, c.a}} {
			got := contrast(luminanceOf(hex(t, pair[0])), luminanceOf(hex(t, pair[1])))
			if math.Abs(got-c.want) > 0.005 {
				t.Errorf("contrast of %s and %s is %.3f, want %.3f", pair[0], pair[1], got, c.want)
			}
		}
	}
}

// TestEveryTokenIsReadable takes the colours from what Paint writes, so it
// covers the reduction to 256 colours too.
func TestEveryTokenIsReadable(t *testing.T) {
	for name, backgrounds := range grounds {
		for _, profile := range []termenv.Profile{termenv.TrueColor, termenv.ANSI256} {
			painter := New(name, profile)
			for tok := range tokens {
				text, own := painted(t, painter.Paint(tok, "x"))
				against := make(map[string]color.Color)
				if own != nil {
					against["its own"] = own
				} else {
					for _, ground := range backgrounds {
						against[ground] = hex(t, ground)
					}
				}
				for ground, c := range against {
					if got := contrast(luminanceOf(text), luminanceOf(c)); got < minimumContrast {
						t.Errorf("%s %s: %s has contrast %.2f on %s", name, profile.Name(), names[tok], got, ground)
					}
				}
			}
		}
	}
}

func TestColoursSurviveTheReductionTo256(t *testing.T) {
	for _, name := range []Name{Light, Dark} {
		full, reduced := New(name, termenv.TrueColor), New(name, termenv.ANSI256)
		for tok := range tokens {
			wantText, wantGround := painted(t, full.Paint(tok, "x"))
			text, ground := painted(t, reduced.Paint(tok, "x"))
			if fmt.Sprint(rgb(text), rgb(ground)) != fmt.Sprint(rgb(wantText), rgb(wantGround)) {
				t.Errorf("%s: %s becomes %v on %v, want %v on %v",
					name, names[tok], rgb(text), rgb(ground), rgb(wantText), rgb(wantGround))
			}
		}
	}
}

// Shades stand out from the ground that a theme is made for the more, the higher
// they are, each by a step of lightness that is seen with any kind of sight: L* of
// CIE 1976, of which 2 is about what two neighbouring patches need.
func TestShadesGoOneWay(t *testing.T) {
	const step = 7
	for _, name := range []Name{Light, Dark} {
		for _, profile := range []termenv.Profile{termenv.TrueColor, termenv.ANSI256} {
			painter := New(name, profile)
			for vision, matrix := range colourVision {
				before := 0.0
				for i := range Shades {
					_, ground := painted(t, painter.Paint(Shade+Token(i), "x"))
					if ground == nil {
						t.Fatalf("%s: %s has no ground", name, names[Shade+Token(i)])
					}
					lightness, _, _ := seen(ground, matrix).Lab()
					lightness *= 100
					if rises := lightness - before; i > 0 && (name == Dark && rises < step || name == Light && rises > -step) {
						t.Errorf("%s: to an eye %s, %s has lightness %.0f after %.0f", name, vision, names[Shade+Token(i)], lightness, before)
					}
					before = lightness
				}
			}
		}
	}
}

// colourVision holds what a severe form of each common colour blindness makes
// of linear red, green and blue: G. M. Machado, M. M. Oliveira and L. A. F.
// Fernandes, "A Physiologically-based Model for Simulation of Color Vision
// Deficiency", IEEE TVCG 15(6), 2009, matrices of severity 1.0.
var colourVision = map[string][3][3]float64{
	"full": {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}},
	"without red": {
		{0.152286, 1.052583, -0.204868}, {0.114503, 0.786281, 0.099216}, {-0.003882, -0.048116, 1.051998}},
	"without green": {
		{0.367322, 0.860646, -0.227968}, {0.280085, 0.672501, 0.047413}, {-0.011820, 0.042940, 0.968881}},
	"without blue": {
		{1.255528, -0.076749, -0.178779}, {-0.078411, 0.930809, 0.147602}, {0.004733, 0.691367, 0.303900}},
}

// TestMeaningsDifferToEveryEye asks for a distance of at least 0.15 in L*a*b*
// (lightness from 0 to 1), several times what is just noticeable, between any
// two of ordinary text, changes and the three cautions.
func TestMeaningsDifferToEveryEye(t *testing.T) {
	const apart = 0.15
	told := []Token{Plain, Changed, Note, Warn, Danger}
	for _, name := range []Name{Light, Dark} {
		painter := New(name, termenv.TrueColor)
		for vision, matrix := range colourVision {
			for i, a := range told {
				for _, b := range told[:i] {
					textA, _ := painted(t, painter.Paint(a, "x"))
					textB, _ := painted(t, painter.Paint(b, "x"))
					if got := seen(textA, matrix).DistanceLab(seen(textB, matrix)); got < apart {
						t.Errorf("%s: to an eye %s, %s and %s are %.3f apart", name, vision, names[a], names[b], got)
					}
				}
			}
		}
	}
}

// seen returns the colour that c is to an eye described by the matrix.
func seen(c color.Color, m [3][3]float64) colorful.Color {
	full, _ := colorful.MakeColor(c)
	r, g, b := full.LinearRgb()
	part := func(row [3]float64) float64 { return row[0]*r + row[1]*g + row[2]*b }
	return colorful.LinearRgb(part(m[0]), part(m[1]), part(m[2])).Clamped()
}

var (
	sequence   = regexp.MustCompile(`^\x1b\[([0-9;]+)mx\x1b\[0m$`)
	colourCode = regexp.MustCompile(`([34])8;(?:2;(\d+);(\d+);(\d+)|5;(\d+))`)
)

// painted returns the text and background colours in the escape sequence that
// frames one painted x. The background is nil when none is set.
func painted(t *testing.T, s string) (text, ground color.Color) {
	t.Helper()
	frame := sequence.FindStringSubmatch(s)
	if frame == nil {
		t.Fatalf("%q is not a painted x", s)
	}
	number := func(digits string) uint8 {
		n, err := strconv.ParseUint(digits, 10, 8)
		if err != nil {
			t.Fatalf("%q: %v", s, err)
		}
		return uint8(n)
	}
	for _, code := range colourCode.FindAllStringSubmatch(frame[1], -1) {
		var c color.Color
		if code[5] != "" {
			c = ansi.IndexedColor(number(code[5]))
		} else {
			c = color.RGBA{number(code[2]), number(code[3]), number(code[4]), 255}
		}
		if code[1] == "3" {
			text = c
		} else {
			ground = c
		}
	}
	if text == nil {
		t.Fatalf("%q sets no text colour", s)
	}
	return text, ground
}

// rgb returns c as eight-bit parts, and nothing for no colour.
func rgb(c color.Color) []uint32 {
	if c == nil {
		return nil
	}
	r, g, b, _ := c.RGBA()
	return []uint32{r >> 8, g >> 8, b >> 8}
}

// luminanceOf returns the relative luminance of c.
func luminanceOf(c color.Color) float64 {
	r, g, b, _ := c.RGBA()
	return luminance(float64(r)/0xffff, float64(g)/0xffff, float64(b)/0xffff)
}

// hex returns the colour written as #rrggbb.
func hex(t *testing.T, s string) color.Color {
	t.Helper()
	c, err := colorful.Hex(s)
	if err != nil {
		t.Fatal(err)
	}
	return c
}
