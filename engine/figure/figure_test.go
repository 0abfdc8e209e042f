package figure_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"foreshaft/engine/figure"
)

func TestCombine(t *testing.T) {
	cases := []struct {
		name   string
		shares []float64
		want   float64
		tol    float64
	}{
		{"end gauge of JCGM 100:2008, H.1.5, in nm", []float64{25, 9.682, 2.887, 16.599}, 31.66, 0.005},
		{"nothing uncertain", nil, 0, 0},
		{"one", []float64{-0.3}, 0.3, 0},
		{"signs do not cancel between inputs", []float64{3, -4}, 5, 1e-15},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			var shares []figure.Share
			for i, a := range c.shares {
				shares = append(shares, figure.Share{Input: i, Amount: a})
			}
			if got := figure.Combine(shares); math.Abs(got-c.want) > c.tol {
				t.Errorf("got %v, want %v", got, c.want)
			}
		})
	}
}

// Shares of one input are one error: they add before they are squared.
func TestNewMergesSharesOfOneInput(t *testing.T) {
	f := figure.New(figure.FOC, 1, figure.Measured, []figure.Share{{Input: 2, Amount: 3}, {Input: 0, Amount: 1}, {Input: 2, Amount: -3}, {Input: 1, Amount: 2}, {Input: 1, Amount: 2}})
	if want := math.Sqrt(1 + 16); math.Abs(f.U-want) > 1e-15 {
		t.Errorf("u = %v, want %v", f.U, want)
	}
	for i, s := range f.Shares {
		if i > 0 && s.Input <= f.Shares[i-1].Input {
			t.Errorf("inputs out of order: %v", f.Shares)
		}
	}
}

func of(value float64, shares ...figure.Share) figure.Figure {
	return figure.New(figure.LaunchSpeed, value, figure.Estimated, shares)
}

func TestDifference(t *testing.T) {
	cases := []struct {
		name        string
		a, b        figure.Figure
		value, want float64
	}{
		{"what is shared cancels", of(10, figure.Share{Input: 0, Amount: 2}), of(7, figure.Share{Input: 0, Amount: 2}), 3, 0},
		{"what is shared in part cancels in part", of(10, figure.Share{Input: 0, Amount: 2}), of(7, figure.Share{Input: 0, Amount: 1.5}), 3, 0.5},
		{"opposite effects add", of(10, figure.Share{Input: 0, Amount: 2}), of(7, figure.Share{Input: 0, Amount: -2}), 3, 4},
		{"own inputs combine as squares", of(10, figure.Share{Input: 0, Amount: 3}), of(7, figure.Share{Input: 1, Amount: 4}), 3, 5},
		{"one known exactly", of(10, figure.Share{Input: 4, Amount: 3}), of(7), 3, 3},
		{"the other known exactly", of(10), of(7, figure.Share{Input: 4, Amount: 3}), 3, 3},
		{"mixed lists", of(1, figure.Share{Input: 0, Amount: 1}, figure.Share{Input: 2, Amount: 5}, figure.Share{Input: 3, Amount: 2}),
			of(2, figure.Share{Input: 1, Amount: 2}, figure.Share{Input: 2, Amount: 5}, figure.Share{Input: 4, Amount: 4}), -1, 5},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			delta, u := figure.Difference(c.a, c.b)
			if delta != c.value || math.Abs(u-c.want) > 1e-15 {
				t.Errorf("got %v ± %v, want %v ± %v", delta, u, c.value, c.want)
			}
		})
	}
}

// Whatever two figures rest on: a figure differs from itself by 0 ± 0, order
// does not matter, and a difference is never less certain than both together.
func TestDifferenceProperties(t *testing.T) {
	figures := rapid.Custom(func(t *rapid.T) figure.Figure {
		var shares []figure.Share
		for range rapid.IntRange(0, 6).Draw(t, "shares") {
			shares = append(shares, figure.Share{Input: rapid.IntRange(0, 5).Draw(t, "input"), Amount: rapid.Float64Range(-9, 9).Draw(t, "amount")})
		}
		return of(rapid.Float64Range(-100, 100).Draw(t, "value"), shares...)
	})
	rapid.Check(t, func(t *rapid.T) {
		a, b := figures.Draw(t, "a"), figures.Draw(t, "b")
		if d, u := figure.Difference(a, a); d != 0 || u != 0 {
			t.Fatalf("a − a = %v ± %v", d, u)
		}
		d1, u1 := figure.Difference(a, b)
		d2, u2 := figure.Difference(b, a)
		if d1 != -d2 || u1 != u2 {
			t.Fatalf("a − b = %v ± %v, b − a = %v ± %v", d1, u1, d2, u2)
		}
		if u1 > (a.U+b.U)*(1+1e-12) || u1 < math.Abs(a.U-b.U)*(1-1e-12)-1e-12 {
			t.Fatalf("u of the difference %v, of the figures %v and %v", u1, a.U, b.U)
		}
	})
}

func TestLargest(t *testing.T) {
	if _, ok := of(1).Largest(); ok {
		t.Error("nothing is uncertain in it")
	}
	if _, ok := of(1, figure.Share{Input: 3}).Largest(); ok {
		t.Error("a share of nothing is not uncertain")
	}
	if s, ok := of(1, figure.Share{Input: 0, Amount: 1}, figure.Share{Input: 1, Amount: -2}).Largest(); !ok || s.Input != 1 {
		t.Errorf("got %v", s)
	}
}

func TestRounded(t *testing.T) {
	cases := []struct {
		value, u      float64
		shown, shownU string
	}{
		{446.4, 2.34, "446", "2"},
		{446.4, 1.96, "446.4", "2.0"}, // starts with 1, so to a tenth
		{15.7797, 0.96, "15.8", "1.0"},
		{15.7797, 0.15, "15.78", "0.15"},
		{15.7797, 0.196, "15.78", "0.20"},
		{15.7797, 0.1, "15.78", "0.10"},
		{15.7797, 0.2, "15.8", "0.2"},
		{283.7486, 9.6, "284", "10"},
		{283.7486, 23, "280", "20"},
		{283.7486, 14, "284", "14"},
		{283.7486, 230, "300", "200"},
		{49695.884, 1000, "49700", "1000"},
		{49695.884, 0.001, "49695.8840", "0.0010"},
		{-0.04, 0.1, "−0.04", "0.10"},
		{-0.04, 0.3, "0.0", "0.3"}, // no minus before a zero
		{-0.4, 2, "0", "2"},
		{-28.04, 0.3, "−28.0", "0.3"},
		{0, 0.3, "0.0", "0.3"},
		{0, 0, "0", "0"},
		{446.4321, 0, "446.4", "0"},
		{1000, 0, "1000", "0"},
		{-12.346, 0, "−12.35", "0"},
		{0.00012346, 0, "0.0001235", "0"},
		{123456, 0, "123456", "0"},
		{1, math.NaN(), "1.000", "0"},
		{1, 1e-300, "1.000", "0"},
	}
	for _, c := range cases {
		shown, u := figure.Rounded(c.value, c.u)
		if shown != c.shown || u != c.shownU {
			t.Errorf("%v ± %v: got %s ± %s, want %s ± %s", c.value, c.u, shown, u, c.shown, c.shownU)
		}
	}
}

func TestMinus(t *testing.T) {
	for in, want := range map[string]string{"1": "1", "-1": "−1", "-0": "0", "-0.00": "0.00", "-0.01": "−0.01", "": ""} {
		if got := figure.Minus(in); got != want {
			t.Errorf("%q: got %q, want %q", in, got, want)
		}
	}
}

func TestKeys(t *testing.T) {
	names := map[string]figure.Key{}
	titles := map[string]figure.Key{}
	for k := range figure.Count {
		d := k.Definition()
		if d.Name == "" || d.Title == "" || d.Unit.Size == 0 {
			t.Errorf("figure %d has no full definition: %+v", k, d)
		}
		if other, taken := names[d.Name]; taken {
			t.Errorf("figures %d and %d are both called %s", other, k, d.Name)
		}
		if other, taken := titles[d.Title]; taken {
			t.Errorf("figures %d and %d are both titled %s", other, k, d.Title)
		}
		names[d.Name], titles[d.Title] = k, k
		if got, ok := figure.ByName(d.Name); !ok || got != k || k.String() != d.Name {
			t.Errorf("%s is found as %v, %v", d.Name, got, ok)
		}
	}
	for _, name := range []string{"", "FOC", "weight"} {
		if k, ok := figure.ByName(name); ok {
			t.Errorf("%q is found as %v", name, k)
		}
	}
}

// The units of the exchange format, as its document lists them.
func TestUnitsOfTheExchangeFormat(t *testing.T) {
	want := map[string]string{
		"total_weight": "gr", "front_weight": "gr", "balance_point": "in", "drop": "in", "sight_mark": "in", "mark_shift": "in", "impact_shift": "in",
		"wind_drift": "in", "mark_spread": "in", "pressure_point": "in", "foc": "%", "energy_share": "%", "steer_margin": "%", "steer_moment": "%",
		"head_share": "%", "margin_vs_proven": "%", "inertia": "gr·in²", "weight_per_draw": "gr/lb", "launch_speed": "ft/s", "speed": "ft/s",
		"launch_energy": "ft·lbf", "energy": "ft·lbf", "launch_momentum": "lbf·s", "momentum": "lbf·s", "flight_time": "s", "range_short": "yd",
		"range_long": "yd", "hold_for": "yd", "hold_on_near": "yd", "hold_on_far": "yd", "wobble_length": "yd", "bending_stiffness": "lbf·in²",
		"bending_frequency": "Hz", "launch_margin": "", "bends_on_string": "", "drag_coefficient": "", "dozen_cost": "",
	}
	for k := range figure.Count {
		symbol, listed := want[k.String()]
		if !listed {
			t.Errorf("%s is not in the list of units", k)
		} else if got := k.Definition().Unit.Symbol; got != symbol {
			t.Errorf("%s is in %q, want %q", k, got, symbol)
		}
		delete(want, k.String())
	}
	for name := range want {
		t.Errorf("%s is not a figure", name)
	}
}

func TestValues(t *testing.T) {
	v := figure.NoValues()
	for k := range figure.Count {
		if _, ok := v.Get(k); ok {
			t.Errorf("%s is there before it was set", k)
		}
	}
	v.Set(figure.FOC, 0)
	if got, ok := v.Get(figure.FOC); !ok || got != 0 {
		t.Errorf("a zero is a value: %v, %v", got, ok)
	}
	for _, x := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		v.Set(figure.FOC, x)
		if got, ok := v.Get(figure.FOC); ok {
			t.Errorf("%v is given as %v", x, got)
		}
	}
}
