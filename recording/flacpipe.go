package recording

import (
	"crypto/md5"
	"hash"
	"runtime"
	"sync"
)

// pipeline decodes FLAC frames ahead of the reader: one goroutine splits, some
// decode, one hashes in order.
type pipeline struct {
	hashing bool
	hash    hash.Hash
	free    chan *job // to be filled
	work    chan *job // to be decoded
	order   chan *job // all, in order
	out     chan *job // decoded and hashed, in order
	quit    chan struct{}
	once    sync.Once
	group   sync.WaitGroup
}

// ahead is how many frames are under way.
const ahead = 16

// startPipeline begins with the frame first, if it is not nil, and those that
// the splitter gives.
func startPipeline(s *splitter, first *job, hashing bool) *pipeline {
	p := &pipeline{
		hashing: hashing, hash: md5.New(), quit: make(chan struct{}),
		free: make(chan *job, ahead+1), work: make(chan *job, ahead+1), order: make(chan *job, ahead+1), out: make(chan *job, ahead+1),
	}
	for range ahead {
		p.free <- newJob()
	}
	run := func(f func()) {
		p.group.Add(1)
		go func() { defer p.group.Done(); f() }()
	}
	run(func() { p.split(s, first) })
	for range min(runtime.GOMAXPROCS(0), 4) {
		run(func() { p.decode(s.si) })
	}
	run(p.deliver)
	return p
}

// take receives a job; nil: stop.
func (p *pipeline) take(from chan *job) *job {
	select {
	case j := <-from:
		return j
	case <-p.quit:
		return nil
	}
}

// split cuts the stream into jobs until there is none.
func (p *pipeline) split(s *splitter, first *job) {
	for j := first; ; j = nil {
		if j == nil {
			if j = p.take(p.free); j == nil {
				return
			}
			s.next(j)
		}
		ended := j.end != notEnded
		if ended {
			j.done <- struct{}{}
		} else {
			p.work <- j
		}
		p.order <- j
		if ended {
			close(p.work)
			return
		}
	}
}

func (p *pipeline) decode(si streamInfo) {
	for {
		select {
		case j, ok := <-p.work:
			if !ok {
				return
			}
			j.decode(si, p.hashing)
			j.done <- struct{}{}
		case <-p.quit:
			return
		}
	}
}

// deliver hashes in order and hands on, up to the first job that ends.
func (p *pipeline) deliver() {
	for {
		j := p.take(p.order)
		if j == nil {
			return
		}
		select {
		case <-j.done:
		case <-p.quit:
			return
		}
		ended := j.end != notEnded // once handed on it is not ours to look at
		if p.hashing && !ended {
			p.hash.Write(j.pcm)
		}
		p.out <- j
		if ended {
			return
		}
	}
}

// next is the next job in order; the last one has ended.
func (p *pipeline) next() *job { return <-p.out }

func (p *pipeline) release(j *job) { p.free <- j }

// digest is of all that was decoded; it may be asked for after the last job.
func (p *pipeline) digest() (d [16]byte) {
	copy(d[:], p.hash.Sum(nil))
	return d
}

// stop ends all goroutines, and waits for them unless one may be waiting for a
// pipe.
func (p *pipeline) stop(wait bool) {
	p.once.Do(func() { close(p.quit) })
	if wait {
		p.group.Wait()
	}
}
