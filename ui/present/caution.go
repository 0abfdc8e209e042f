package present

import (
	"fmt"
	"slices"
	"strings"

	"foreshaft/engine/arrow"
	"foreshaft/engine/caution"
	"foreshaft/engine/figure"
	"foreshaft/engine/sheet"
)

// Mark returns the sign of a level, which stands for it without colour.
func Mark(l caution.Level) string {
	switch l {
	case caution.Danger:
		return "!!"
	case caution.Warn:
		return "!"
	}
	return "·"
}

// Brief names a caution in two or three words.
func Brief(c caution.Caution) string {
	words := c.Code.Words()
	if c.About != "" {
		words = "perhaps " + c.About.Words()
	}
	if c.Unchecked {
		return "not checked: " + words
	}
	return words
}

// Remarks lists the cautions of a build and what else to look at: notes about
// the build, and about the readings that its speed rests on.
func Remarks(s *sheet.Sheet, build int) []caution.Caution {
	b := &s.Builds[build]
	list := slices.Concat(b.Cautions, b.Notes)
	if _, ok := b.Figure(figure.LaunchSpeed); ok {
		words, level := caution.Code("check the readings"), caution.Warn
		if s.Fit.FromRating {
			words, level = "speed from rating", caution.Note
		}
		for _, n := range s.Fit.Notes(s.Units) {
			list = append(list, caution.Caution{Code: words, Level: level, Text: n})
		}
	}
	slices.SortStableFunc(list, caution.Compare)
	return list
}

// SpeedInDoubt reports whether the speed of a build hangs on readings that
// disagree or that are far from it.
func SpeedInDoubt(s *sheet.Sheet, build int) bool {
	return s.Fit.InDoubt() || slices.ContainsFunc(s.Builds[build].Notes, func(c caution.Caution) bool { return c.Code == sheet.BeyondReadings })
}

// Turned says which cautions of a build on a sheet's bow are gone when it becomes
// another one, and which notes come; Effect tells of new dangers and warnings.
func Turned(on *sheet.Sheet, before, after *arrow.Build) (gone, come string) {
	s := on.Pair(before, after, on.Job.DistancesOrDefault()[0])
	only := func(in, out int, tell func(c caution.Caution) bool, same func(c, o caution.Caution) bool) string {
		var words []string
		for _, c := range s.Builds[in].Cautions {
			word := Brief(c)
			if c.Unchecked || !tell(c) || slices.Contains(words, word) ||
				slices.ContainsFunc(s.Builds[out].Cautions, func(o caution.Caution) bool { return same(c, o) }) {
				continue
			}
			words = append(words, word)
		}
		return strings.Join(words, ", ")
	}
	gone = only(0, 1, func(caution.Caution) bool { return true }, func(c, o caution.Caution) bool {
		// What has become certain, or is not checked any more, is not gone.
		return o.Same(c) || o.Code == c.About && !o.Unchecked || o.Unchecked && (o.Code == checkOf(c.Code) || o.Code == checkOf(c.About))
	})
	come = only(1, 0, func(c caution.Caution) bool { return c.Level == caution.Note }, caution.Caution.Same)
	return gone, come
}

// checkOf returns the check that a caution comes of: the gravest of those that rest on
// the same figure.
func checkOf(c caution.Code) caution.Code {
	switch c {
	case caution.Weak, caution.Stiff:
		return caution.Folds
	case caution.Plane:
		return caution.Unstable
	}
	return c
}

// mostNamed is how many builds a danger names: every kind of danger must find
// room on a narrow screen.
const mostNamed = 6

// Dangers says in a few words what is dangerous about which builds: "too light,
// near a dry fire: A, C".
func Dangers(s *sheet.Sheet) []string {
	var hazards []string
	builds := map[string][]string{}
	for i := range s.Builds {
		for _, c := range s.Builds[i].Cautions {
			h := c.Code.Hazard()
			if c.Level != caution.Danger || slices.Contains(builds[h], Letter(i)) {
				continue
			}
			if builds[h] == nil {
				hazards = append(hazards, h)
			}
			builds[h] = append(builds[h], Letter(i))
		}
	}
	for i, h := range hazards {
		names := builds[h]
		switch n := len(names); {
		case n > mostNamed && n == len(s.Builds):
			names = []string{fmt.Sprintf("all %d builds", n)}
		case n > mostNamed:
			names = append(names[:mostNamed:mostNamed], fmt.Sprintf("%d more", n-mostNamed))
		}
		hazards[i] = h + ": " + strings.Join(names, ", ")
	}
	return hazards
}

// Marked writes a caution in full behind the sign of its level.
func Marked(c caution.Caution) string { return told(Mark(c.Level), c) }

// Sentence writes a caution in full, with its level in words.
func Sentence(c caution.Caution) string { return told(strings.ToUpper(string(c.Level)), c) }

func told(level string, c caution.Caution) string {
	if c.Unchecked {
		return level + " " + c.Text
	}
	return level + " " + Brief(c) + ": " + c.Text
}

// Standing lists what holds for every build, in help and on every print.
var Standing = []string{
	"Launch margin and steering are reckoned from a model and screen, no more: choose the spine by the shaft maker's chart.",
	"Estimates, not advice: the makers' charts and minimums, local law and a qualified fitter come first.",
	"Before each shot look at nock and shaft. After any hard hit twist, flex and listen; if in doubt break it and bin it.",
	"A cracked or loose nock is a dry fire. Never dry-fire. Never draw skyward or without a backstop you can see.",
	"Cut with a saw made for it, mask and eyes protected. Shoot the first of a new build close, alone, before making eleven more.",
	"Children: an adult beside them, no broadheads, draw length checked each season.",
}
