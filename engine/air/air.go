// Package air answers how dense and how sticky the air is that an arrow flies
// through.
package air

import (
	"math"

	"foreshaft/engine/unit"
)

// Conditions is the air as a weather station reports it. Pressure is station
// pressure, not the sea-level value of a weather report. What is not given
// comes from the US Standard Atmosphere 1976 at Altitude (geometric); altitude
// is ignored when pressure is given.
type Conditions struct {
	Temperature unit.Optional[unit.Temperature] `job:"temperature_c" range:"-40,55"`
	Pressure    unit.Optional[unit.Pressure]    `job:"pressure_hpa" range:"500,1100"`
	Humidity    unit.Optional[Share]            `job:"humidity_pct" range:"0,100"`
	Altitude    unit.Optional[unit.Length]      `job:"altitude_m" range:"-400,6000"`
}

// Share is a relative humidity between 0 and 1.
type Share float64

// State returns temperature, pressure and relative humidity with every default
// filled in.
func (c Conditions) State() (unit.Temperature, unit.Pressure, Share) {
	altitude := c.Altitude.Or(0)
	if c.Pressure.Given {
		altitude = 0
	}
	t, p := standard(altitude)
	return c.Temperature.Or(t), c.Pressure.Or(p), c.Humidity.Or(0)
}

// standard returns temperature and pressure of the US Standard Atmosphere 1976
// in its lowest layer, for a geometric altitude: geopotential altitude
// r₀z/(r₀+z), lapse 6.5 K/km, equations 18, 23 and 33a.
func standard(z unit.Length) (unit.Temperature, unit.Pressure) {
	const (
		radius   = 6356766.0
		lapse    = 0.0065
		seaT     = 288.15
		seaP     = 101325.0
		exponent = 9.80665 * 28.9644 / (8314.32 * lapse)
	)
	h := radius * float64(z) / (radius + float64(z))
	t := seaT - lapse*h
	return unit.Temperature(t), unit.Pressure(seaP * math.Pow(t/seaT, exponent))
}

// Density returns the density of moist air in kg/m³ by CIPM-2007 (Picard et
// al., Metrologia 45 (2008) 149), with 400 ppm of carbon dioxide.
func (c Conditions) Density() float64 {
	const (
		gas   = 8.314472
		dry   = 28.96546e-3
		water = 18.01528e-3
	)
	kelvin, pascal, humidity := c.State()
	T, p, h := float64(kelvin), float64(pascal), float64(humidity)
	t := T - float64(unit.ZeroCelsius)
	saturation := math.Exp(1.2378847e-5*T*T - 1.9121316e-2*T + 33.93711047 - 6.3431645e3/T)
	enhancement := 1.00062 + 3.14e-8*p + 5.6e-7*t*t
	x := h * enhancement * saturation / p
	z := 1 - p/T*(1.58123e-6-2.9331e-8*t+1.1043e-10*t*t+(5.707e-6-2.051e-8*t)*x+(1.9898e-4-2.376e-6*t)*x*x) +
		p*p/(T*T)*(1.83e-11-0.765e-8*x*x)
	return p * dry / (z * gas * T) * (1 - x*(1-water/dry))
}

// Viscosity returns the dynamic viscosity in Pa·s by Sutherland's formula with
// the constants of the US Standard Atmosphere 1976 (equation 51).
func (c Conditions) Viscosity() float64 {
	kelvin, _, _ := c.State()
	T := float64(kelvin)
	return 1.458e-6 * math.Pow(T, 1.5) / (T + 110.4)
}
