package figure

import (
	"math"
	"strconv"
	"strings"
)

// Rounded writes a value and its standard uncertainty the way they are shown:
// the uncertainty to one significant digit, two when it starts with 1, and the
// value to the same place. A minus is written −. With no uncertainty, or one
// that only rounding left, the value has four significant digits and u is "0".
func Rounded(value, u float64) (shown, shownU string) {
	const nothing = 1e-12
	if !(u >= nothing) || math.IsInf(u, 0) {
		return Minus(strconv.FormatFloat(value, 'f', placesFor(value, 4), 64)), "0"
	}
	places := placesFor(u, 1)
	if math.Floor(u*math.Pow10(places)) == 1 {
		places++
	}
	decimals := max(places, 0)
	scale := math.Pow10(places)
	value, u = math.Round(value*scale)/scale, math.Round(u*scale)/scale
	return Minus(strconv.FormatFloat(value, 'f', decimals, 64)), strconv.FormatFloat(u, 'f', decimals, 64)
}

// placesFor returns how many decimals show that many significant digits; it is
// negative when digits before the point are to be rounded away.
func placesFor(x float64, digits int) int {
	if x == 0 {
		return 0
	}
	return digits - 1 - int(math.Floor(math.Log10(math.Abs(x))))
}

// Minus turns a leading hyphen into a minus sign, and a negative zero into zero.
func Minus(number string) string {
	if !strings.HasPrefix(number, "-") {
		return number
	}
	if strings.Trim(number, "-0.") == "" {
		return number[1:]
	}
	return "−" + number[1:]
}
