package present

import (
	"strings"

	"foreshaft/engine/caution"
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
	if c.Unchecked {
		return words + " not checked"
	}
	return words
}

// Sentence writes a caution in full, with its level in words.
func Sentence(c caution.Caution) string {
	if c.Unchecked {
		return strings.ToUpper(string(c.Level)) + " " + c.Text
	}
	return strings.ToUpper(string(c.Level)) + " " + Brief(c) + ": " + c.Text
}

// Standing lists what holds for every build, in help and on every print.
var Standing = []string{
	"Spine and steering are not judged yet: choose the spine by the shaft maker's chart.",
	"Estimates, not advice: the makers' charts and minimums, local law and a qualified fitter come first.",
	"Before each shot look at nock and shaft. After any hard hit twist, flex and listen; if in doubt break it and bin it.",
	"A cracked or loose nock is a dry fire. Never dry-fire. Never draw skyward or without a backstop you can see.",
	"Cut with a saw made for it, mask and eyes protected. Shoot the first of a new build close, alone, before making eleven more.",
	"Children: an adult beside them, no broadheads, draw length checked each season.",
}
