package main

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"
	"time"

	"foreshaft/store"
	"foreshaft/ui/uitest"

	"github.com/creack/pty"
)

// apartVariable tells a test that it runs in a mount namespace of its own, where it may
// mount a small disk.
const apartVariable = "FORESHAFT_TEST_APART"

// skipLoudly skips a test and says so even without -v.
func skipLoudly(t *testing.T, why string) {
	t.Helper()
	fmt.Fprintf(os.Stderr, "SKIPPED %s: %s\n", t.Name(), why)
	t.Skip(why)
}

// apart runs the test that calls it once more in a mount namespace of its own, and returns
// true there.
func apart(t *testing.T) bool {
	t.Helper()
	if os.Getenv(apartVariable) != "" {
		return true
	}
	t.Parallel()
	if out, err := exec.Command("unshare", "-rm", "true").CombinedOutput(); err != nil {
		skipLoudly(t, fmt.Sprintf("no mount namespace here: %v %s", err, out))
	}
	binary, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("unshare", "-rm", binary, "-test.v", "-test.timeout=0", "-test.run", "^"+t.Name()+"$")
	cmd.Env = append(os.Environ(), apartVariable+"=1", programVariable+"="+program)
	out, err := cmd.CombinedOutput()
	t.Logf("%s", out)
	if err != nil || !strings.Contains(string(out), "nothing lost") {
		t.Fatalf("apart: %v", err)
	}
	return false
}

// The disk fills up and is cleared in the middle of the work. What cannot be saved is said
// as long as that is so, and saved once there is room.
func TestNoEndLosesAnythingOnADiskThatFillsUp(t *testing.T) {
	if !apart(t) {
		return
	}
	disk := t.TempDir()
	if err := syscall.Mount("none", disk, "tmpfs", 0, "size=3m"); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := syscall.Unmount(disk, syscall.MNT_DETACH); err != nil {
			t.Error(err)
		}
	})
	filler, workbook := filepath.Join(disk, "filler"), filepath.Join(disk, "workbook.db")
	fill := func(t *testing.T) {
		if err := os.WriteFile(filler, make([]byte, 4<<20), 0o600); !errors.Is(err, syscall.ENOSPC) {
			t.Fatalf("the disk did not fill: %v", err)
		}
	}
	clear := func(t *testing.T) {
		if err := os.Remove(filler); err != nil && !errors.Is(err, os.ErrNotExist) {
			t.Fatal(err)
		}
	}
	hardship{
		strike: func(t *testing.T) {
			switch rand.IntN(3) {
			case 0:
				clear(t)
			case 1:
				fill(t)
			default: // some pages are left
				fill(t)
				info, err := os.Stat(filler)
				if err == nil {
					err = os.Truncate(filler, max(info.Size()-rand.Int64N(8)*4096, 0))
				}
				if err != nil {
					t.Fatal(err)
				}
			}
		},
		// A workbook that has grown once has room in itself: each sitting gets a new one.
		relieve: func(t *testing.T) {
			files, err := filepath.Glob(filepath.Join(disk, "*")) // with the backups
			for _, name := range files {
				err = errors.Join(err, os.Remove(name))
			}
			if err != nil {
				t.Fatal(err)
			}
		},
	}.sittings(t, workbook, asked(t, 3))
}

// The folder of the workbook cannot be written, as when a stick or a share changes its
// rights: there is no backup then, and the work goes on.
func TestNoEndLosesAnythingInAFolderThatCannotBeWritten(t *testing.T) {
	t.Parallel()
	// Not t.TempDir, which another user may not enter.
	root, err := os.MkdirTemp("", "foreshaft-folder-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = os.RemoveAll(root) })
	folder := filepath.Join(root, "kept")
	start := func(t *testing.T, workbook string) *uitest.Terminal { return reopen(t, workbook, uitest.Options{}) }
	if os.Getuid() == 0 { // root may write anywhere
		if _, err := exec.LookPath("setpriv"); err != nil {
			skipLoudly(t, "no setpriv to become another user")
		}
		const nobody = 65534
		copied := filepath.Join(root, "foreshaft")
		data, err := os.ReadFile(program)
		if err := errors.Join(err, os.Chmod(root, 0o755), os.WriteFile(copied, data, 0o755), os.Mkdir(folder, 0o700), os.Chown(folder, nobody, nobody)); err != nil {
			t.Fatal(err)
		}
		start = func(t *testing.T, workbook string) *uitest.Terminal {
			x := uitest.Start(t, uitest.Options{Path: "setpriv", Dir: root, Env: []string{"HOME=" + folder, "XDG_CONFIG_HOME=" + folder},
				Args: []string{"--reuid=65534", "--regid=65534", "--clear-groups", copied, "--workbook", workbook}})
			x.WaitFor(shown)
			return x
		}
	} else if err := os.Mkdir(folder, 0o700); err != nil {
		t.Fatal(err)
	}
	open := func(t *testing.T) {
		if err := os.Chmod(folder, 0o700); err != nil {
			t.Fatal(err)
		}
	}
	hardship{
		start: start,
		strike: func(t *testing.T) {
			if err := os.Chmod(folder, []os.FileMode{0o500, 0o700}[rand.IntN(2)]); err != nil {
				t.Fatal(err)
			}
		},
		relieve: open,
	}.sittings(t, filepath.Join(folder, "workbook.db"), asked(t, 2))
}

// A local screen that takes no output, such as that of a connection that has stalled, holds up
// neither those elsewhere nor the end.
func TestATerminalThatTakesNoOutputHoldsUpNobody(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	s := &served{t: t, dir: dir, workbook: filepath.Join(dir, "workbook.db")}
	if err := os.WriteFile(filepath.Join(dir, "keys.pub"), []byte(clientKey(t, filepath.Join(dir, "one"), "counter one")), 0o600); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(program, append(s.args(), "--screen")...)
	cmd.Env = append(os.Environ(), "HOME="+dir, "XDG_CONFIG_HOME="+dir, "TERM=xterm-256color", "NO_COLOR=1")
	local, err := pty.StartWithSize(cmd, &pty.Winsize{Rows: 50, Cols: 200})
	if err != nil {
		t.Fatal(err)
	}
	defer local.Close()
	ended := make(chan error, 1)
	go func() { ended <- cmd.Wait() }()
	var seen []byte
	for port := []string(nil); port == nil; {
		buf := make([]byte, 4096)
		n, err := local.Read(buf)
		if err != nil {
			t.Fatalf("%v: %s", err, seen)
		}
		seen = append(seen, buf[:n]...)
		if port = regexp.MustCompile(`on 127\.0\.0\.1:(\d+); fingerprint`).FindStringSubmatch(string(seen)); port != nil {
			s.port = port[1]
		}
	}
	// From now on nobody reads what it draws, and it has a lot to draw.
	go func() {
		for range 400 {
			if _, err := local.WriteString("\x0c+"); err != nil {
				return
			}
		}
	}()
	x := s.visit("one", uitest.Options{})
	x.Type("rHere")
	x.Send("\r")
	x.WaitFor("to Here.")
	time.Sleep(500 * time.Millisecond) // until the terminal is full
	if err := cmd.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	if code := x.Wait(); code != 0 || !strings.Contains(string(x.Raw()), "has ended the program for all terminals") {
		t.Errorf("the terminal elsewhere ended with %d\n%s", code, x.Screen())
	}
	select {
	case <-ended: // with whatever status
	case <-time.After(25 * time.Second):
		_ = cmd.Process.Kill()
		t.Error("it does not end")
	}
	if _, err := store.Examine(s.workbook); err != nil {
		t.Error(err)
	}
}
