package air_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"foreshaft/engine/air"
	"foreshaft/engine/unit"
)

func station(celsius, pascal, humidity float64) air.Conditions {
	return air.Conditions{
		Temperature: unit.Some(unit.Celsius(celsius)), Pressure: unit.Some(unit.Pressure(pascal)), Humidity: unit.Some(air.Share(humidity)),
	}
}

// CIPM-2007 (Picard et al., Metrologia 45 (2008) 149), CO₂ 400 ppm, recomputed
// from the published equation to the digits shown.
func TestDensity(t *testing.T) {
	cases := []struct {
		name string
		in   air.Conditions
		want float64
	}{
		{"20 °C, 50 %", station(20, 101325, 0.5), 1.19931390},
		{"20 °C, dry", station(20, 101325, 0), 1.20455734},
		{"15 °C, dry", station(15, 101325, 0), 1.22552134},
		{"25 °C, 50 %", station(25, 101325, 0.5), 1.17731537},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			if got := c.in.Density(); math.Abs(got-c.want) > 1e-8 {
				t.Errorf("got %.9f, want %.8f kg/m³", got, c.want)
			}
		})
	}
}

// US Standard Atmosphere 1976, table I, geometric altitude. The table checks
// pressure and temperature; CIPM density at the same state lies within 0.05 %
// of the table's ideal gas.
func TestStandardAtmosphere(t *testing.T) {
	cases := []struct{ km, density, kelvin, pascal float64 }{
		{0, 1.22500, 288.150, 101325},
		{1, 1.11166, 281.651, 89876},
		{2, 1.00655, 275.154, 79501},
		{3, 0.90925, 268.659, 70121},
	}
	for _, c := range cases {
		conditions := air.Conditions{Altitude: unit.Some(unit.Length(1000 * c.km))}
		temperature, pressure, humidity := conditions.State()
		if math.Abs(float64(temperature)-c.kelvin) > 5e-4 || math.Abs(float64(pressure)-c.pascal) > 0.5 || humidity != 0 {
			t.Errorf("%v km: %.4f K, %.2f Pa, %v", c.km, temperature, pressure, humidity)
		}
		// Ideal gas with the table's own constants.
		if ideal := float64(pressure) * 28.9644 / (8314.32 * float64(temperature)); math.Abs(ideal-c.density) > 5e-6 {
			t.Errorf("%v km: ideal gas %.6f, want %.5f kg/m³", c.km, ideal, c.density)
		}
		if got := conditions.Density(); math.Abs(got/c.density-1) > 5e-4 {
			t.Errorf("%v km: %.5f kg/m³, more than 0.05 %% from %.5f", c.km, got, c.density)
		}
	}
}

// Sutherland's formula with the constants of the US Standard Atmosphere 1976.
func TestViscosity(t *testing.T) {
	for celsius, want := range map[float64]float64{15: 1.789380e-5, 20: 1.813406e-5} {
		if got := station(celsius, 101325, 0).Viscosity(); math.Abs(got-want) > 5e-12 {
			t.Errorf("%v °C: got %.6e, want %.6e Pa·s", celsius, got, want)
		}
	}
}

func TestDefaults(t *testing.T) {
	none := air.Conditions{}
	if temperature, pressure, humidity := none.State(); temperature != 288.15 || pressure != 101325 || humidity != 0 {
		t.Errorf("nothing given: %v K, %v Pa, %v", temperature, pressure, humidity)
	}
	both := air.Conditions{Pressure: unit.Some(unit.Pressure(85000)), Altitude: unit.Some(3000 * unit.Metre)}
	if _, pressure, _ := both.State(); pressure != 85000 {
		t.Errorf("a pressure that is given stands, whatever the altitude: %v Pa", pressure)
	}
	warm := air.Conditions{Temperature: unit.Some(unit.Celsius(30)), Altitude: unit.Some(2000 * unit.Metre)}
	if temperature, pressure, _ := warm.State(); temperature != unit.Celsius(30) || math.Abs(float64(pressure)-79501) > 0.5 {
		t.Errorf("temperature given, pressure of the altitude: %v K, %v Pa", temperature, pressure)
	}
}

// Colder, drier and lower air is denser, over everything a job may hold.
func TestDensityIsMonotonic(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		celsius := rapid.Float64Range(-40, 54).Draw(t, "celsius")
		pascal := rapid.Float64Range(50000, 109000).Draw(t, "pascal")
		humidity := rapid.Float64Range(0, 0.9).Draw(t, "humidity")
		d := station(celsius, pascal, humidity).Density()
		if math.IsNaN(d) || d < 0.4 || d > 1.8 {
			t.Fatalf("%v kg/m³", d)
		}
		if station(celsius+1, pascal, humidity).Density() >= d {
			t.Fatal("warmer air must be lighter")
		}
		if station(celsius, pascal+1000, humidity).Density() <= d {
			t.Fatal("air under more pressure must be denser")
		}
		if station(celsius, pascal, humidity+0.1).Density() >= d {
			t.Fatal("moister air must be lighter")
		}
	})
}

// When pressure is given, altitude says nothing: the standard temperature is
// then that of sea level.
func TestPressureSetsAltitudeAside(t *testing.T) {
	given := air.Conditions{Pressure: unit.Some(700 * unit.Hectopascal)}
	high := given
	high.Altitude = unit.Some(3000 * unit.Metre)
	if given.Density() != high.Density() {
		t.Errorf("%g kg/m³ without an altitude and %g with one", given.Density(), high.Density())
	}
	if kelvin, _, _ := high.State(); kelvin != unit.Celsius(15) {
		t.Errorf("temperature %g K", kelvin)
	}
}
