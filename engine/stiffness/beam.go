package stiffness

import (
	"math"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/mat"
)

// beam is a uniform slender beam (Euler–Bernoulli) cut into finite elements
// between nodes, with masses along it. Each node has two degrees of freedom,
// deflection 2i and slope 2i+1; between nodes the deflection is a cubic (Hermite)
// polynomial.
type beam struct {
	rigidity float64   // EI, N·m²
	nodes    []float64 // m, ascending
	held     []int     // the degrees of freedom that supports keep at nothing
	masses   []spread
}

// spread is a mass, kg, that lies evenly between two places, m: a point where
// they are the same.
type spread struct{ mass, from, to float64 }

// Shape functions of an element on 0…1, in powers of the place: row i gives what
// degree of freedom i does. Slopes are against the place, not against metres.
var hermite = [4][4]float64{{1, 0, -3, 2}, {0, 1, -2, 1}, {0, 0, 3, -2}, {0, 0, -1, 1}}

// bending is ∫ N″ᵢ N″ⱼ over an element on 0…1.
var bending = [4][4]float64{{12, 6, -12, 6}, {6, 4, -6, 2}, {-12, -6, 12, -6}, {6, 2, -6, 4}}

// Gauss–Legendre places and weights on 0…1 (Abramowitz & Stegun, table 25.4):
// four are exact for the square of a cubic, three for that of its slope.
var (
	gauss3 = [3][2]float64{{0.1127016653792583, 5. / 18}, {0.5, 8. / 18}, {0.8872983346207417, 5. / 18}}
	gauss4 = [4][2]float64{
		{0.0694318442029737, 0.1739274225687269}, {0.3300094782075719, 0.3260725774312731},
		{0.6699905217924281, 0.3260725774312731}, {0.9305681557970263, 0.1739274225687269},
	}
)

// cubic returns what the four degrees of freedom do to the deflection at a place
// of an element that is h long.
func cubic(at, h float64) (n [4]float64) {
	for i, c := range hermite {
		n[i] = c[0] + at*(c[1]+at*(c[2]+at*c[3]))
	}
	n[1], n[3] = n[1]*h, n[3]*h
	return n
}

// slope is cubic for the slope.
func slope(at, h float64) (n [4]float64) {
	for i, c := range hermite {
		n[i] = (c[1] + at*(2*c[2]+at*3*c[3])) / h
	}
	n[1], n[3] = n[1]*h, n[3]*h
	return n
}

func (b *beam) elements() int         { return len(b.nodes) - 1 }
func (b *beam) length(el int) float64 { return b.nodes[el+1] - b.nodes[el] }

// newMatrix returns a matrix over all degrees of freedom.
func (b *beam) newMatrix() *mat.SymDense { return mat.NewSymDense(2*len(b.nodes), nil) }

// addSquare adds by × n nᵀ of one element to a matrix.
func addSquare(m *mat.SymDense, el int, n [4]float64, by float64) {
	raw := m.RawSymmetric()
	for i := range n {
		row := raw.Data[(2*el+i)*raw.Stride+2*el:]
		for k := i; k < 4; k++ {
			row[k] += by * n[i] * n[k]
		}
	}
}

// stiffness returns the matrix of ∫ EI w″².
func (b *beam) stiffness() *mat.SymDense {
	m := b.newMatrix()
	for el := range b.elements() {
		h := b.length(el)
		scale := [4]float64{1, h, 1, h}
		for i := range 4 {
			for k := i; k < 4; k++ {
				r, c := 2*el+i, 2*el+k
				m.SetSym(r, c, m.At(r, c)+b.rigidity/(h*h*h)*bending[i][k]*scale[i]*scale[k])
			}
		}
	}
	return m
}

// pieces calls f for every point mass that stands for the masses, with the
// element it lies on: spread masses are cut at the nodes, and each piece is
// integrated by Gauss's rule. Mass behind the first node has element −1, mass
// beyond the last one element b.elements().
func (b *beam) pieces(f func(el int, at, mass float64)) {
	first, last := b.nodes[0], b.nodes[b.elements()]
	for _, m := range b.masses {
		if m.to <= m.from {
			switch x := (m.from + m.to) / 2; {
			case x < first:
				f(-1, 0, m.mass)
			case x >= last:
				f(b.elements(), 0, m.mass)
			default:
				el := b.elementAt(x)
				f(el, (x-b.nodes[el])/b.length(el), m.mass)
			}
			continue
		}
		density := m.mass / (m.to - m.from)
		if out := min(m.to, first) - m.from; out > 0 {
			f(-1, 0, density*out)
		}
		if out := m.to - max(m.from, last); out > 0 {
			f(b.elements(), 0, density*out)
		}
		for el := range b.elements() {
			from, to := max(m.from, b.nodes[el]), min(m.to, b.nodes[el+1])
			if to <= from {
				continue
			}
			for _, g := range gauss4 {
				f(el, (from+(to-from)*g[0]-b.nodes[el])/b.length(el), density*(to-from)*g[1])
			}
		}
	}
}

// elementAt returns the element that a place on the beam lies on.
func (b *beam) elementAt(x float64) int {
	el := 0
	for el < b.elements()-1 && x >= b.nodes[el+1] {
		el++
	}
	return el
}

// inertia returns the matrix of ∫ w² dm, the consistent mass. Mass off the ends
// moves with the end.
func (b *beam) inertia() *mat.SymDense {
	m := b.newMatrix()
	b.pieces(func(el int, at, mass float64) {
		switch {
		case el < 0:
			el, at = 0, 0
		case el == b.elements():
			el, at = el-1, 1
		}
		addSquare(m, el, cubic(at, b.length(el)), mass)
	})
	return m
}

// thrust returns the matrix of ∫ M w′² dx, where M(x) is the mass ahead of x:
// times an acceleration it is the work of what the beam pushes. Mass off the far
// end presses there, mass behind the near end not at all.
func (b *beam) thrust() *mat.SymDense {
	m := b.newMatrix()
	ahead := make([]float64, b.elements()) // of an element's far end
	b.pieces(func(el int, at, mass float64) {
		for k := range max(el, 0) {
			ahead[k] += mass
		}
		if el < 0 || el == b.elements() {
			return
		}
		// The part of the element behind the mass carries it too.
		h := b.length(el)
		for _, g := range gauss3 {
			addSquare(m, el, slope(at*g[0], h), mass*at*h*g[1])
		}
	})
	for el, mass := range ahead {
		h := b.length(el)
		for _, g := range gauss3 {
			addSquare(m, el, slope(g[0], h), mass*h*g[1])
		}
	}
	return m
}

// free lists the degrees of freedom that no support holds.
func (b *beam) free() []int {
	out := make([]int, 0, 2*len(b.nodes))
next:
	for i := range 2 * len(b.nodes) {
		for _, h := range b.held {
			if h == i {
				continue next
			}
		}
		out = append(out, i)
	}
	return out
}

// freed returns what two matrices leave over the degrees of freedom that are free;
// nothing of one that is nil.
func (b *beam) freed(k, g *mat.SymDense) (kk *mat.SymDense, gg *mat.Dense) {
	free := b.free()
	n := len(free)
	kk, gg = mat.NewSymDense(n, nil), mat.NewDense(n, n, nil)
	for i, r := range free {
		for j, c := range free {
			if j >= i && k != nil {
				kk.SetSym(i, j, k.At(r, c))
			}
			if g != nil {
				gg.Set(i, j, g.At(r, c))
			}
		}
	}
	return kk, gg
}

// ratio solves G φ = μ K φ over the degrees of freedom that are free, for a K
// that is positive definite, and returns the μ that has so many larger ones
// before it, with its φ over all degrees of freedom. It is false where there is
// none above nothing.
func (b *beam) ratio(g, k *mat.SymDense, before int) (mu float64, phi []float64, ok bool) {
	free := b.free()
	n := len(free)
	if before >= n {
		return 0, nil, false
	}
	kk, gg := b.freed(k, g)
	var root mat.Cholesky
	if !root.Factorize(kk) {
		return 0, nil, false
	}
	// With K = UᵀU the problem is that of the symmetric U⁻ᵀ G U⁻¹.
	u := root.RawU().(*mat.TriDense).RawTriangular()
	blas64.Trsm(blas.Left, blas.Trans, 1, u, gg.RawMatrix())
	blas64.Trsm(blas.Right, blas.NoTrans, 1, u, gg.RawMatrix())
	symmetric := mat.NewSymDense(n, gg.RawMatrix().Data) // its upper half is read
	var eigen mat.EigenSym
	if !eigen.Factorize(symmetric, true) {
		return 0, nil, false
	}
	values := eigen.Values(nil)
	mu = values[n-1-before]
	if !(mu > 0) {
		return 0, nil, false
	}
	var vectors mat.Dense
	eigen.VectorsTo(&vectors)
	y := make([]float64, n)
	mat.Col(y, n-1-before, &vectors)
	blas64.Trsv(blas.NoTrans, u, blas64.Vector{N: n, Inc: 1, Data: y})
	phi = make([]float64, 2*len(b.nodes))
	for i, r := range free {
		phi[r] = y[i]
	}
	return mu, phi, true
}

// vibrate returns the square of the first angular frequency, 1/s², of the beam on
// those supports at which it bends, and how. rigid is how many ways the supports
// leave it to move without bending.
func (b *beam) vibrate(rigid int) (square float64, phi []float64, ok bool) {
	m, k := b.inertia(), b.stiffness()
	// A beam that can move without bending has a singular K. Shifted by about its
	// own frequency K + shift·M is none, and far from one.
	mass := 0.0
	for _, p := range b.masses {
		mass += p.mass
	}
	span := b.nodes[b.elements()] - b.nodes[0]
	shift := 0.0
	if rigid > 0 {
		shift = FreeFree * FreeFree * FreeFree * FreeFree * b.rigidity / (mass * span * span * span)
		for i := range 2 * len(b.nodes) {
			for j := i; j < min(i+4, 2*len(b.nodes)); j++ {
				k.SetSym(i, j, k.At(i, j)+shift*m.At(i, j))
			}
		}
	}
	mu, phi, ok := b.ratio(m, k, rigid)
	return 1/mu - shift, phi, ok
}

// FreeFree is βL of the first bending of a bare free beam (Blevins, Formulas for
// Natural Frequency and Mode Shape, 1979).
const FreeFree = 4.7300407448627

// divide returns the nodes of n equal elements from one place to another.
func divide(from, to float64, n int) []float64 {
	out := make([]float64, n+1)
	for i := range out {
		out[i] = from + (to-from)*float64(i)/float64(n)
	}
	return out
}

func square(x float64) float64 { return x * x }

// hertz turns the square of an angular frequency into a frequency.
func hertz(square float64) float64 { return math.Sqrt(square) / (2 * math.Pi) }
