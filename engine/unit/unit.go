// Package unit holds the quantities of the trade as named float64 types in SI,
// used the way time.Duration is used: 75*unit.Grain is a mass and
// m.In(unit.Grain) reads it back as a number of grains.
//
// Every conversion factor is exact by definition (NIST SP 811, appendix B;
// NIST Handbook 44, appendix C). In divides by the same factor that made the
// value, so a number typed in any unit comes back to within one unit in the
// last place of a float64.
package unit

// StandardGravity is the conventional acceleration of free fall, m/s²
// (3rd CGPM, 1901; NIST SP 811).
const StandardGravity = 9.80665

// Mass is a mass in kilograms.
type Mass float64

// Sizes of a mass.
const (
	Kilogram Mass = 1
	Gram     Mass = 1e-3
	Grain    Mass = 6.479891e-5
	Ounce    Mass = 437.5 * Grain
	Pound    Mass = 0.45359237
)

// In returns the mass as a number of the given size.
func (m Mass) In(size Mass) float64 { return float64(m / size) }

// Length is a length in metres.
type Length float64

// Sizes of a length.
const (
	Metre      Length = 1
	Centimetre Length = 1e-2
	Millimetre Length = 1e-3
	Inch       Length = 0.0254
	Foot       Length = 12 * Inch
	Yard       Length = 36 * Inch
)

// In returns the length as a number of the given size.
func (l Length) In(size Length) float64 { return float64(l / size) }

// LinearDensity is a mass for each length, in kilograms per metre.
type LinearDensity float64

// GrainPerInch is the trade's size for the weight of a shaft.
const GrainPerInch LinearDensity = LinearDensity(Grain) / LinearDensity(Inch)

// In returns the linear density as a number of the given size.
func (d LinearDensity) In(size LinearDensity) float64 { return float64(d / size) }

// Times returns the mass of a length at this linear density.
func (d LinearDensity) Times(l Length) Mass { return Mass(float64(d) * float64(l)) }

// Speed is a speed in metres per second.
type Speed float64

// Sizes of a speed.
const (
	MetrePerSecond   Speed = 1
	KilometrePerHour Speed = 1 / 3.6
	FootPerSecond    Speed = 0.3048
	MilePerHour      Speed = 0.44704
)

// In returns the speed as a number of the given size.
func (s Speed) In(size Speed) float64 { return float64(s / size) }

// Force is a force in newtons.
type Force float64

// Sizes of a force.
const (
	Newton        Force = 1
	KilogramForce Force = StandardGravity
	PoundForce    Force = 4.4482216152605
)

// In returns the force as a number of the given size.
func (f Force) In(size Force) float64 { return float64(f / size) }

// MassPerForce is a mass for each force that draws a bow, in kilograms per newton.
type MassPerForce float64

// GrainPerPound is the trade's size for an arrow's weight against draw weight.
const GrainPerPound MassPerForce = MassPerForce(Grain) / MassPerForce(PoundForce)

// In returns the ratio as a number of the given size.
func (r MassPerForce) In(size MassPerForce) float64 { return float64(r / size) }

// Energy is an energy in joules.
type Energy float64

// Sizes of an energy.
const (
	Joule     Energy = 1
	FootPound Energy = 1.3558179483314004
)

// In returns the energy as a number of the given size.
func (e Energy) In(size Energy) float64 { return float64(e / size) }

// Kinetic returns the kinetic energy of a mass at a speed.
func Kinetic(m Mass, v Speed) Energy { return Energy(0.5 * float64(m) * float64(v) * float64(v)) }

// Momentum is a momentum in kilogram metres per second.
type Momentum float64

// Sizes of a momentum.
const (
	KilogramMetrePerSecond Momentum = 1
	PoundSecond            Momentum = 4.4482216152605
)

// In returns the momentum as a number of the given size.
func (p Momentum) In(size Momentum) float64 { return float64(p / size) }

// Inertia is a moment of inertia in kilogram square metres.
type Inertia float64

// GrainSquareInch is the size in which an arrow's inertia is shown.
const GrainSquareInch Inertia = Inertia(Grain) * Inertia(Inch) * Inertia(Inch)

// In returns the moment of inertia as a number of the given size.
func (i Inertia) In(size Inertia) float64 { return float64(i / size) }

// Angle is a plane angle in radians.
type Angle float64

// Sizes of an angle.
const (
	Radian Angle = 1
	Degree Angle = 3.14159265358979323846264338327950288 / 180
)

// In returns the angle as a number of the given size.
func (a Angle) In(size Angle) float64 { return float64(a / size) }

// Temperature is a thermodynamic temperature in kelvins.
type Temperature float64

// ZeroCelsius is 0 °C in kelvins.
const ZeroCelsius Temperature = 273.15

// Celsius returns the temperature of a reading in degrees Celsius.
func Celsius(degrees float64) Temperature { return Temperature(degrees) + ZeroCelsius }

// Celsius returns the temperature in degrees Celsius.
func (t Temperature) Celsius() float64 { return float64(t - ZeroCelsius) }

// Pressure is a pressure in pascals.
type Pressure float64

// Sizes of a pressure.
const (
	Pascal      Pressure = 1
	Hectopascal Pressure = 100
)

// In returns the pressure as a number of the given size.
func (p Pressure) In(size Pressure) float64 { return float64(p / size) }

// Optional is a value that may not be known. The zero Optional is not given.
// It is comparable, so a piece that holds some can be compared with ==.
type Optional[T any] struct {
	Value T
	Given bool
}

// Some returns a value that is given.
func Some[T any](value T) Optional[T] { return Optional[T]{Value: value, Given: true} }

// Or returns the value, or the fallback when it is not given.
func (o Optional[T]) Or(fallback T) T {
	if o.Given {
		return o.Value
	}
	return fallback
}

// Slot lets a decoder fill the value in: a pointer to it, and to the mark that
// it is given.
func (o *Optional[T]) Slot() (value any, given *bool) { return &o.Value, &o.Given }
