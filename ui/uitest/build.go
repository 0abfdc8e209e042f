package uitest

import (
	"fmt"
	"os/exec"
	"path/filepath"
)

// Build compiles the program into dir and returns the path of the binary. A
// compile error comes back with what the compiler said.
//
// It is meant for TestMain of the end-to-end tests, which builds once, runs
// the tests, and removes dir.
func Build(dir string) (path string, err error) {
	return build(".", "foreshaft/cmd/foreshaft", dir)
}

// build compiles a package, named as seen from the folder from, into dir.
func build(from, pkg, dir string) (string, error) {
	dir, err := filepath.Abs(dir)
	if err != nil {
		return "", fmt.Errorf("build %s: %w", pkg, err)
	}
	path := filepath.Join(dir, "foreshaft")
	cmd := exec.Command("go", "build", "-o", path, pkg)
	cmd.Dir = from
	if out, err := cmd.CombinedOutput(); err != nil {
		return "", fmt.Errorf("build %s: %w\n%s", pkg, err, out)
	}
	return path, nil
}
