package stiffness

import (
	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/mat"

	"foreshaft/engine/arrow"
	"foreshaft/engine/unit"
)

// Family is all columns of one length on one rest, whatever they are made of. What
// its pieces press adds up, so that a column can be enclosed by numbers of its
// pieces without being solved.
type Family struct {
	beam beam
	root blas64.Triangular // U of K = UᵀU, for an EI of 1
}

// NewFamily returns the columns of a length with their rest that far from the
// throat, and false where no column can be held so.
func NewFamily(length, rest unit.Length) (*Family, bool) {
	if length <= 0 || rest <= 0 {
		return nil, false
	}
	beam, _ := pinned(float64(length), float64(rest), elements)
	beam.rigidity = 1
	k, _ := beam.freed(beam.stiffness(), nil)
	var root mat.Cholesky
	if !root.Factorize(k) {
		return nil, false
	}
	return &Family{beam, root.RawU().(*mat.TriDense).RawTriangular()}, true
}

// Size is how many numbers a Load of the family has along one side.
func (f *Family) Size() int { return f.root.N }

// Load is what some pieces press: U⁻ᵀ G U⁻¹, symmetric, row by row. Loads add up.
// The greatest eigenvalue of a whole arrow's is its EI over its critical
// acceleration.
type Load []float64

// Load returns what elements of an arrow of this family press.
func (f *Family) Load(elements ...arrow.Element) Load {
	beam := f.beam
	for _, e := range elements {
		beam.masses = append(beam.masses, spreadOf(e))
	}
	_, g := beam.freed(nil, beam.thrust())
	raw := g.RawMatrix()
	blas64.Trsm(blas.Left, blas.Trans, 1, f.root, raw)
	blas64.Trsm(blas.Right, blas.NoTrans, 1, f.root, raw)
	return raw.Data
}

// Trace returns the sum of a load's eigenvalues.
func (f *Family) Trace(l Load) float64 {
	sum := 0.0
	for i := range f.Size() {
		sum += l[i*f.Size()+i]
	}
	return sum
}

// Mode returns the direction, of length 1, in which a load presses hardest.
func (f *Family) Mode(l Load) []float64 {
	n := f.Size()
	var eigen mat.EigenSym
	if !eigen.Factorize(mat.NewSymDense(n, append([]float64(nil), l...)), true) {
		return nil
	}
	var vectors mat.Dense
	eigen.VectorsTo(&vectors)
	return mat.Col(nil, n-1, &vectors)
}

// Along splits what a load does in a direction y of length 1 into the part along
// it, yᵀAy, and the part across it, Ay − (yᵀAy) y.
//
// A whole arrow's greatest eigenvalue μ is at least the sum of its pieces' parts
// along y, ρ. With r the sum of the parts across it is at most
// ρ + |r|²/(2ρ − trace) where that is positive (Kato and Temple): the other
// eigenvalues together are what the trace leaves.
func (f *Family) Along(l Load, y, across []float64) (along float64) {
	n := f.Size()
	for i := range n {
		row, sum := l[i*n:i*n+n], 0.0
		for k, x := range row {
			sum += x * y[k]
		}
		across[i] = sum
		along += sum * y[i]
	}
	for i := range across {
		across[i] -= along * y[i]
	}
	return along
}
