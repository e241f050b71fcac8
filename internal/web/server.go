package web

import (
	"context"
	"errors"
	"fmt"
	"log"
	"net"
	"net/http"
	"time"

	"setwright/internal/workshop"
)

// Options says how the pages are served. The zero value is a good default.
type Options struct {
	// MaxUpload is the largest file taken in, in bytes; 0 is 4 GiB.
	MaxUpload int64
	// StageDir is the folder in which a dropped file waits until it is stored;
	// empty is a folder of the system's for passing things. Files there are
	// removed when they were stored, after an hour, and when the server ends.
	StageDir string
	// Log gets faults of the program; nil is standard error.
	Log *log.Logger
}

// Server is the pages of one shop.
type Server struct {
	shop   *workshop.Shop
	opt    Options
	pages  pages
	assets assets
	stage  *stage
	jobs   *jobs
	mux    *http.ServeMux
	// patience is how long an import is waited for before its page shows how
	// far it is.
	patience time.Duration
	seen     func(template string) // told of every template shown; for tests
}

// New returns the pages of a shop. An error is a fault in the program's own
// templates or assets. Close it when done.
func New(shop *workshop.Shop, opt Options) (*Server, error) {
	if opt.MaxUpload == 0 {
		opt.MaxUpload = 4 << 30
	}
	if opt.Log == nil {
		opt.Log = log.Default()
	}
	s := &Server{shop: shop, opt: opt, stage: newStage(opt.StageDir), jobs: newJobs(), mux: http.NewServeMux(), patience: 700 * time.Millisecond}
	var err error
	if s.assets, err = loadAssets(); err != nil {
		return nil, err
	}
	if s.pages, err = parsePages(s.functions()); err != nil {
		return nil, err
	}
	s.routes()
	return s, nil
}

// Close stops what is under way and removes the files that wait.
func (s *Server) Close() {
	s.jobs.stop()
	s.stage.close()
}

// Handler returns the pages behind their guards.
func (s *Server) Handler() http.Handler { return s.guarded(s.mux) }

// Listen opens an address for the pages. Only addresses of this computer are
// allowed: the pages have no passwords.
func Listen(addr string) (net.Listener, error) {
	host, _, err := net.SplitHostPort(addr)
	if err != nil {
		return nil, fmt.Errorf("address %q: expected HOST:PORT, such as 127.0.0.1:8417", addr)
	}
	if ip := net.ParseIP(host); host != "localhost" && (ip == nil || !ip.IsLoopback()) {
		return nil, fmt.Errorf("address %q is not this computer's own: expected 127.0.0.1, ::1 or localhost, because whoever reaches the pages can change the book", addr)
	}
	return net.Listen("tcp", addr)
}

// Serve serves the pages at an address (see [Listen]) until ctx ends, then lets
// requests under way finish.
func (s *Server) Serve(ctx context.Context, addr string) error {
	l, err := Listen(addr)
	if err != nil {
		return err
	}
	return s.ServeOn(ctx, l)
}

// ServeOn is Serve on an address that is open already.
func (s *Server) ServeOn(ctx context.Context, l net.Listener) error {
	defer s.Close()
	server := &http.Server{
		Handler: s.Handler(), ErrorLog: s.opt.Log,
		ReadHeaderTimeout: 10 * time.Second, IdleTimeout: 2 * time.Minute, WriteTimeout: 15 * time.Minute,
		MaxHeaderBytes: 1 << 16,
	}
	ended := make(chan error, 1)
	go func() { ended <- server.Serve(l) }()
	select {
	case err := <-ended:
		return err
	case <-ctx.Done():
	}
	s.jobs.stop()
	s.endListenings(context.WithoutCancel(ctx))
	grace, cancel := context.WithTimeout(context.Background(), 5*time.Second)
	defer cancel()
	if err := server.Shutdown(grace); err != nil && !errors.Is(err, context.DeadlineExceeded) {
		return err
	}
	_ = server.Close()
	return nil
}
