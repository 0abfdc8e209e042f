package figure

import (
	"cmp"
	"math"
	"slices"
)

// Basis says what a figure rests on.
type Basis string

// A figure is measured when every weight in it was weighed and no prior, rule
// of thumb or model constant enters; otherwise it is estimated.
const (
	Measured  Basis = "measured"
	Estimated Basis = "estimated"
)

// Values holds figures as bare numbers in SI. A figure that is absent is NaN
// inside and can only be read through Get.
type Values struct{ v [Count]float64 }

// NoValues returns Values in which every figure is absent.
func NoValues() Values {
	var out Values
	for i := range out.v {
		out.v[i] = math.NaN()
	}
	return out
}

// Get returns the figure in SI and whether it is there.
func (v *Values) Get(k Key) (float64, bool) { return v.v[k], !math.IsNaN(v.v[k]) }

// Set stores a figure in SI. A value that is not a finite number leaves it absent.
func (v *Values) Set(k Key, value float64) {
	if math.IsInf(value, 0) {
		value = math.NaN()
	}
	v.v[k] = value
}

// Input is a quantity that is not known exactly. Inputs are told apart by their
// place in the list that a sheet keeps; what is the same input in two builds
// stands there once, so that its error cancels in their difference.
type Input struct {
	Name   string // such as "insert weight"
	Shared bool   // the same for all builds of a job
	// Remedy says which measurement would make it better known.
	Remedy string
	// Model is true for an error of the model itself, which stays however well the
	// arrow is measured.
	Model bool
}

// Share is what one input's uncertainty does to a figure: the derivative times
// the input's standard uncertainty, signed, in SI.
type Share struct {
	Input  int // index into the sheet's inputs
	Amount float64
}

// Figure is one value with its standard uncertainty, in SI.
type Figure struct {
	Key    Key
	Value  float64
	U      float64 // standard uncertainty, one sigma
	Basis  Basis
	Shares []Share // ordered by Input, each input once
}

// New returns the figure with U combined from its shares. Shares of the same
// input are added first: their errors are one error.
func New(key Key, value float64, basis Basis, shares []Share) Figure {
	slices.SortStableFunc(shares, func(a, b Share) int { return cmp.Compare(a.Input, b.Input) })
	merged := shares[:0]
	for _, s := range shares {
		if n := len(merged); n > 0 && merged[n-1].Input == s.Input {
			merged[n-1].Amount += s.Amount
		} else {
			merged = append(merged, s)
		}
	}
	return Figure{Key: key, Value: value, U: Combine(merged), Basis: basis, Shares: merged}
}

// Combine returns the root of the sum of squares of independent shares
// (JCGM 100:2008, equation 10).
func Combine(shares []Share) float64 {
	sum := 0.0
	for _, s := range shares {
		sum += s.Amount * s.Amount
	}
	return math.Sqrt(sum)
}

// Difference returns a − b and its standard uncertainty. What both rest on is
// subtracted before it is squared, so a shared error cancels.
func Difference(a, b Figure) (delta, u float64) {
	sum := 0.0
	i, j := 0, 0
	for i < len(a.Shares) || j < len(b.Shares) {
		var amount float64
		switch {
		case j == len(b.Shares) || i < len(a.Shares) && a.Shares[i].Input < b.Shares[j].Input:
			amount = a.Shares[i].Amount
			i++
		case i == len(a.Shares) || b.Shares[j].Input < a.Shares[i].Input:
			amount = -b.Shares[j].Amount
			j++
		default:
			amount = a.Shares[i].Amount - b.Shares[j].Amount
			i++
			j++
		}
		sum += amount * amount
	}
	return a.Value - b.Value, math.Sqrt(sum)
}

// Largest returns the share that adds most to the uncertainty, and false when
// nothing in the figure is uncertain.
func (f Figure) Largest() (Share, bool) {
	if len(f.Shares) == 0 || f.U == 0 {
		return Share{}, false
	}
	return slices.MaxFunc(f.Shares, func(a, b Share) int {
		return cmp.Compare(math.Abs(a.Amount), math.Abs(b.Amount))
	}), true
}

// Working says how a figure was come by, for someone who wants to check it.
type Working struct {
	Formula string   // in words and symbols
	Numbers []string // the same with this build's numbers, a step a line
	Result  string
	// Drawing shows it in text, line by line, where a picture says more.
	Drawing []string
	Source  string
	Notes   []string // assumptions, and what would make it better known
}
