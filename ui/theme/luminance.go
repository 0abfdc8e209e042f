package theme

import "math"

// The two formulas here are those of the W3C's Web Content Accessibility
// Guidelines 2.1: "relative luminance" in its glossary, and the contrast ratio
// that success criterion 1.4.3, Contrast (Minimum), sets at 4.5:1 for text.

// luminance returns the relative luminance, from 0 for black to 1 for white,
// of a colour in sRGB whose parts run from 0 to 1.
func luminance(r, g, b float64) float64 {
	return 0.2126*linear(r) + 0.7152*linear(g) + 0.0722*linear(b)
}

// linear undoes the encoding of one sRGB part from 0 to 1.
func linear(v float64) float64 {
	if v <= 0.03928 {
		return v / 12.92
	}
	return math.Pow((v+0.055)/1.055, 2.4)
}

// contrast returns the contrast ratio, from 1 to 21, of two relative
// luminances in either order.
func contrast(a, b float64) float64 {
	return (max(a, b) + 0.05) / (min(a, b) + 0.05)
}

// isDark reports whether white text is easier to read than black text on the
// colour whose parts run from 0 to 1.
func isDark(r, g, b float64) bool {
	ground := luminance(r, g, b)
	return contrast(ground, 1) > contrast(ground, 0)
}
