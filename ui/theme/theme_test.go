package theme

import (
	"strings"
	"testing"

	"github.com/muesli/termenv"
)

func TestPaintFramesTheText(t *testing.T) {
	dark := New(Dark, termenv.TrueColor)
	if got, want := dark.Paint(Warn, "check"), "\x1b[38;2;255;175;0mcheck\x1b[0m"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	if got, want := dark.Paint(Focus, "x"), "\x1b[38;2;0;0;0;48;2;95;175;255mx\x1b[0m"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	if got, want := New(Dark, termenv.ANSI256).Paint(Warn, "x"), "\x1b[38;5;214mx\x1b[0m"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	if got, want := New(Light, termenv.ANSI).Paint(Focus, "x"), "\x1b[97;44mx\x1b[0m"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	if got := dark.Paint(Warn, ""); got != "" {
		t.Errorf("empty text became %q", got)
	}
	for _, unknown := range []Token{-1, tokens} {
		if got := dark.Paint(unknown, "x"); got != "x" {
			t.Errorf("token %d gives %q", unknown, got)
		}
	}
}

func TestEveryTokenIsPaintedInEveryColourTheme(t *testing.T) {
	for _, name := range []Name{Light, Dark} {
		for _, profile := range []termenv.Profile{termenv.TrueColor, termenv.ANSI256, termenv.ANSI} {
			painter := New(name, profile)
			if painter.Name() != name {
				t.Errorf("%s %s: the theme says it is %s", name, profile.Name(), painter.Name())
			}
			for tok := range tokens {
				got := painter.Paint(tok, "x")
				if !strings.HasPrefix(got, "\x1b[") || !strings.HasSuffix(got, "mx\x1b[0m") {
					t.Errorf("%s %s: token %d gives %q", name, profile.Name(), tok, got)
				}
			}
		}
	}
}

func TestNoColourMeansNoEscapes(t *testing.T) {
	for _, painter := range []*Theme{
		New(Mono, termenv.TrueColor), New(Mono, termenv.ANSI), New(Light, termenv.Ascii), New(Dark, termenv.Ascii),
		New("something else", termenv.TrueColor),
	} {
		if painter.Name() != Mono {
			t.Errorf("the theme says it is %q", painter.Name())
		}
		for tok := range tokens {
			if got := painter.Paint(tok, "x"); got != "x" {
				t.Errorf("token %d gives %q", tok, got)
			}
		}
	}
}

func TestNames(t *testing.T) {
	for _, name := range []Name{Light, Dark, Mono} {
		if got, err := ParseName(string(name)); err != nil || got != name {
			t.Errorf("ParseName(%q) = %q, %v", name, got, err)
		}
	}
	for _, s := range []string{"", "Dark", "sepia"} {
		if got, err := ParseName(s); err == nil {
			t.Errorf("ParseName(%q) = %q, want an error", s, got)
		}
	}
	if got := []Name{Light.Next(), Dark.Next(), Mono.Next(), Name("sepia").Next()}; got[0] != Dark ||
		got[1] != Mono || got[2] != Light || got[3] != Light {
		t.Errorf("next themes are %q", got)
	}
}

// line keeps what BenchmarkPaint paints, so that the work is not left out.
var line string

func BenchmarkPaint(b *testing.B) {
	painter := New(Dark, termenv.TrueColor)
	for b.Loop() {
		line = painter.Paint(Warn, "+97.1 gr")
	}
}
