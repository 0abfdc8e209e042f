package store

import (
	"errors"
	"os"
	"runtime"
	"syscall"
	"time"

	"foreshaft/engine/record"
)

// Owner is the process that holds a workbook, as it wrote itself down in a file
// beside it. The lock on the workbook decides who may use it; the owner file
// only lets a second process say who does.
type Owner struct {
	PID     int
	Host    string
	Program string
	Since   time.Time // when it opened the workbook
}

func (o Owner) program() string {
	if o.Program == "" {
		return "another program"
	}
	return o.Program
}

func (o Owner) host() string {
	if o.Host == "" {
		return "this computer"
	}
	return o.Host
}

// ownerRecord is an Owner as it is written.
type ownerRecord struct {
	PID     int    `job:"pid" need:"yes"`
	Host    string `job:"host"`
	Program string `job:"program"`
	Since   string `job:"since" need:"yes"`
}

func ownerPath(workbook string) string { return workbook + ".owner" }

func thisProcess(program string, now time.Time) Owner {
	host, err := os.Hostname()
	if err != nil {
		host = "" // a computer without a name is still this computer
	}
	return Owner{PID: os.Getpid(), Host: host, Program: program, Since: now}
}

// readOwner returns who wrote the owner file, and false when there is none that
// can be read.
func readOwner(workbook string) (Owner, bool) {
	data, err := os.ReadFile(ownerPath(workbook))
	if err != nil {
		return Owner{}, false
	}
	var r ownerRecord
	if err := record.Decode(data, &r); err != nil {
		return Owner{}, false
	}
	since, err := time.Parse(time.RFC3339Nano, r.Since)
	if err != nil || r.PID <= 0 {
		return Owner{}, false
	}
	return Owner{PID: r.PID, Host: r.Host, Program: r.Program, Since: since.Local()}, true
}

// writeOwner replaces the owner file.
func writeOwner(workbook string, o Owner) error {
	data, err := encode(ownerRecord{PID: o.PID, Host: o.Host, Program: o.Program, Since: stamp(o.Since)})
	if err != nil {
		return err
	}
	// After a power cut nobody holds the workbook: there is nothing to sync for.
	return replaceFile(ownerPath(workbook), tempPattern(workbook), append(data, '\n'), false)
}

// removeOwner takes the owner file away unless it is somebody else's.
func removeOwner(workbook string, o Owner) error {
	found, ok := readOwner(workbook)
	if !ok || found.PID != o.PID || !found.Since.Equal(o.Since) {
		return nil
	}
	return os.Remove(ownerPath(workbook))
}

// running reports whether the owner may still be at work. A process on another
// computer cannot be asked and counts as running.
func (o Owner) running() bool {
	if here := thisProcess("", o.Since); o.Host != here.Host {
		return true
	}
	process, err := os.FindProcess(o.PID)
	if err != nil {
		return false
	}
	if runtime.GOOS == "windows" {
		return true // finding it there means that it runs; signal 0 does not exist
	}
	err = process.Signal(syscall.Signal(0))
	return err == nil || errors.Is(err, os.ErrPermission)
}
