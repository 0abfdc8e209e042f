// Package session holds a bench as a value: a job, the figures of it, and the
// jobs before and after it. A job is never changed in place, so undo is a list
// of past jobs and gives back the same bytes.
package session

import (
	"bytes"

	"foreshaft/engine/job"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
)

// Session is one sitting at a bench.
type Session struct {
	job    *job.Job
	sheet  *sheet.Sheet
	units  unit.System
	name   string // under which the job is saved, if it is
	past   []step
	future []step
}

// step is a job and what was done to leave it. Where the whole job was replaced
// its name goes with it.
type step struct {
	job      *job.Job
	what     string
	replaced bool
	name     string
}

// New starts a sitting with a job, which must not be changed afterwards. Texts
// about it are told in the units given.
func New(j *job.Job, units unit.System) *Session {
	s := &Session{units: units}
	s.show(j)
	return s
}

// Units returns the units in which texts are told.
func (s *Session) Units() unit.System { return s.units }

// SetUnits tells texts in other units from now on. The job stays as it is.
func (s *Session) SetUnits(units unit.System) {
	s.units = units
	s.show(s.job)
}

// Job returns the job as it is now. It must not be changed: use Do.
func (s *Session) Job() *job.Job { return s.job }

// Sheet returns the figures of the job as it is now.
func (s *Session) Sheet() *sheet.Sheet { return s.sheet }

// Name returns the name that the job is saved under, empty when it is not.
func (s *Session) Name() string { return s.name }

// SetName tells under which name the job is saved now.
func (s *Session) SetName(name string) { s.name = name }

// Do changes the job through a copy of it. What says what was done, for undo.
// It reports false, and remembers nothing, when the change changed nothing. The
// error says why a change would make a job that no file may hold; nothing is
// changed then.
func (s *Session) Do(what string, change func(j *job.Job)) (changed bool, err error) {
	next := s.job.Clone()
	change(next)
	unprove(s.job, next)
	disown(s.job, next)
	return s.step(step{job: next, what: what})
}

// Replace puts another job in place of the one there, with the name it is saved
// under. Undo brings back both.
func (s *Session) Replace(what string, j *job.Job, name string) (changed bool, err error) {
	return s.step(step{job: j.Clone(), what: what, replaced: true, name: name})
}

func (s *Session) step(next step) (bool, error) {
	data := next.job.Encode()
	if bytes.Equal(data, s.job.Encode()) {
		return false, nil
	}
	if _, err := job.DecodeBench(data); err != nil {
		return false, err
	}
	s.past = append(s.past, step{s.job, next.what, next.replaced, s.name})
	s.future = nil
	if next.replaced {
		s.name = next.name
	}
	s.show(next.job)
	return true, nil
}

// Undo goes back one change and says which; false when there is none.
func (s *Session) Undo() (what string, ok bool) { return s.travel(&s.past, &s.future) }

// Redo goes forward one change and says which; false when there is none.
func (s *Session) Redo() (what string, ok bool) { return s.travel(&s.future, &s.past) }

func (s *Session) travel(from, to *[]step) (string, bool) {
	n := len(*from)
	if n == 0 {
		return "", false
	}
	next := (*from)[n-1]
	*from = (*from)[:n-1]
	*to = append(*to, step{s.job, next.what, next.replaced, s.name})
	if next.replaced {
		s.name = next.name
	}
	s.show(next.job)
	return next.what, true
}

func (s *Session) show(j *job.Job) {
	s.job = j
	s.sheet = sheet.EvaluateIn(j, s.units)
}
