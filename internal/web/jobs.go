package web

import (
	"context"
	"crypto/rand"
	"fmt"
	"net/http"
	"sync"
	"sync/atomic"
	"time"
)

// jobs are what takes longer than a page should: the storing of a large file.
// A job goes on when its page is closed, and can be stopped.
type jobs struct {
	mu  sync.Mutex
	all map[string]*job
	ctx context.Context
	end context.CancelFunc
}

// job is one of them.
type job struct {
	ID, Title string
	done, of  atomic.Int64
	ctx       context.Context
	cancel    context.CancelFunc
	finished  chan struct{} // closed at the end; href and err are set then
	href      string        // where the result is
	err       error
	since     time.Time

	address string // of the page that asked for it, and wants what it made; under the mutex of jobs
	made    any    // for that page
}

// work does a job: it tells how far it is, and says at the end where the
// result is.
type work func(ctx context.Context, progress func(done, of int64)) (href string, err error)

func newJobs() *jobs {
	ctx, end := context.WithCancel(context.Background())
	return &jobs{all: map[string]*job{}, ctx: ctx, end: end}
}

// start begins a job.
func (j *jobs) start(title string, do work) *job {
	j.mu.Lock()
	defer j.mu.Unlock()
	one := j.add(title)
	one.run(func() { one.href, one.err = do(one.ctx, one.tell) })
	return one
}

// startFor begins a job that makes something for a page, or finds the one that
// does so already.
func (j *jobs) startFor(address, title string, do func(ctx context.Context, progress func(done, of int64)) (any, error)) *job {
	j.mu.Lock()
	defer j.mu.Unlock()
	for _, old := range j.all {
		if old.address == address && !(old.over() && old.err != nil) {
			return old
		}
	}
	one := j.add(title)
	one.address, one.href = address, address
	one.run(func() { one.made, one.err = do(one.ctx, one.tell) })
	return one
}

// given lets a job be begun anew for the page that got what it made.
func (j *jobs) given(one *job) {
	j.mu.Lock()
	defer j.mu.Unlock()
	one.address = ""
}

// add makes a job, and forgets old ones.
func (j *jobs) add(title string) *job {
	one := &job{ID: rand.Text(), Title: title, finished: make(chan struct{}), since: time.Now()}
	one.ctx, one.cancel = context.WithCancel(j.ctx)
	for id, old := range j.all {
		if old.over() && time.Since(old.since) > stageFor {
			delete(j.all, id)
		}
	}
	j.all[one.ID] = one
	return one
}

// tell notes how far the job is.
func (j *job) tell(done, of int64) { j.done.Store(done); j.of.Store(of) }

// run does the job beside.
func (j *job) run(do func()) {
	go func() {
		defer close(j.finished)
		defer j.cancel()
		defer func() {
			if fault := recover(); fault != nil {
				j.err = &answer{status: http.StatusInternalServerError, title: "A fault in the program",
					text: "Something went wrong that is not your doing; nothing was stored.", err: fmt.Errorf("%v", fault)}
			}
		}()
		do()
	}()
}

func (j *jobs) get(id string) *job {
	j.mu.Lock()
	defer j.mu.Unlock()
	return j.all[id]
}

// stop ends all jobs and waits for them.
func (j *jobs) stop() {
	j.end()
	j.mu.Lock()
	defer j.mu.Unlock()
	for _, one := range j.all {
		<-one.finished
	}
}

func (j *job) over() bool {
	select {
	case <-j.finished:
		return true
	default:
		return false
	}
}

// within waits a moment: most jobs are over before anybody could read about
// them.
func (j *job) within(d time.Duration) bool {
	if j.over() {
		return true
	}
	select {
	case <-j.finished:
		return true
	case <-time.After(d):
		return false
	}
}

// percent is how far a job is.
func (j *job) percent() int {
	if of := j.of.Load(); of > 0 {
		return int(min(100, 100*j.done.Load()/of))
	}
	return 0
}

// jobPage shows how far a job is.
type jobPage struct {
	Page
	Job     *job
	Percent int
}

// showJob shows a job, or what came of it.
func (s *Server) showJob(w http.ResponseWriter, r *http.Request) error {
	j := s.jobs.get(r.PathValue("id"))
	if j == nil {
		return notThere("Nothing of that name is under way.")
	}
	if j.over() {
		if j.err != nil {
			return j.err
		}
		http.Redirect(w, r, j.href, http.StatusSeeOther)
		return nil
	}
	p := jobPage{Page: Page{Title: j.Title, Nav: "import", Refresh: "1"}, Job: j, Percent: j.percent()}
	return s.show(w, r, "job", p)
}

// stopJob stops a job.
func (s *Server) stopJob(w http.ResponseWriter, r *http.Request) error {
	j := s.jobs.get(r.PathValue("id"))
	if j == nil {
		return notThere("Nothing of that name is under way.")
	}
	j.cancel()
	<-j.finished
	http.Redirect(w, r, "/jobs/"+j.ID, http.StatusSeeOther)
	return nil
}
