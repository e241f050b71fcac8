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
	cancel    context.CancelFunc
	finished  chan struct{} // closed at the end; href and err are set then
	href      string        // where the result is
	err       error
	since     time.Time
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
	ctx, cancel := context.WithCancel(j.ctx)
	one := &job{ID: rand.Text(), Title: title, cancel: cancel, finished: make(chan struct{}), since: time.Now()}
	j.mu.Lock()
	for id, old := range j.all {
		if old.over() && time.Since(old.since) > stageFor {
			delete(j.all, id)
		}
	}
	j.all[one.ID] = one
	j.mu.Unlock()
	go func() {
		defer close(one.finished)
		defer cancel()
		defer func() {
			if fault := recover(); fault != nil {
				one.err = &answer{status: http.StatusInternalServerError, title: "A fault in the program",
					text: "Something went wrong that is not your doing; nothing was stored.", err: fmt.Errorf("%v", fault)}
			}
		}()
		one.href, one.err = do(ctx, func(done, of int64) { one.done.Store(done); one.of.Store(of) })
	}()
	return one
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
