package web

import (
	"fmt"
	"net"
	"net/http"
	"runtime/debug"
)

// policy lets a page use what this server gives and nothing else.
const policy = "default-src 'none'; style-src 'self'; script-src 'self'; font-src 'self'; img-src 'self' data:; media-src 'self'; " +
	"connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

// maxForm is the most that a form may bring; imports have their own limit.
const maxForm = 1 << 20

// guarded puts the guards before the pages: faults become a page, foreign
// names and cross-origin writes are refused, and every answer says what a
// browser may do with it.
func (s *Server) guarded(next http.Handler) http.Handler {
	origin := http.NewCrossOriginProtection()
	origin.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		s.problem(w, r, &answer{status: http.StatusForbidden, title: "Refused",
			text: "This change was asked for by another page than one of this program, so nothing was changed.",
			next: "If it was you, open the page here and do it again."})
	}))
	h := limited(next)
	h = origin.Handler(h)
	h = s.ownName(h)
	h = s.caught(h)
	return headed(h)
}

// headed writes the headers that every answer has.
func headed(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Permissions-Policy", "camera=(), microphone=(), geolocation=()")
		h.Set("Cache-Control", "no-store")
		next.ServeHTTP(w, r)
	})
}

// ownName refuses requests under a name that is not this computer's own: a
// name of somebody else's that points here (DNS rebinding).
func (s *Server) ownName(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !loopbackName(r.Host) {
			s.problem(w, r, &answer{status: http.StatusMisdirectedRequest, title: "Wrong name",
				text: fmt.Sprintf("These pages answer to 127.0.0.1, localhost and [::1] only; they were asked for as %q.", r.Host)})
			return
		}
		next.ServeHTTP(w, r)
	})
}

func loopbackName(host string) bool {
	name := host
	if h, _, err := net.SplitHostPort(host); err == nil {
		name = h
	} else if len(name) > 2 && name[0] == '[' && name[len(name)-1] == ']' {
		name = name[1 : len(name)-1]
	}
	ip := net.ParseIP(name)
	return name == "localhost" || (ip != nil && ip.IsLoopback())
}

// limited bounds what a request may bring. What brings files has a bound of its
// own.
func limited(next http.Handler) http.Handler {
	small := http.MaxBytesHandler(next, maxForm)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method == http.MethodPost && (r.URL.Path == "/import" || r.URL.Path == "/instruments/sound") {
			next.ServeHTTP(w, r)
			return
		}
		small.ServeHTTP(w, r)
	})
}

// caught turns a panic into a page: a fault of the program, not of the user.
func (s *Server) caught(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		defer func() {
			fault := recover()
			if fault == nil {
				return
			}
			if fault == http.ErrAbortHandler {
				panic(fault)
			}
			s.opt.Log.Printf("web: fault at %s %s: %v\n%s", r.Method, r.URL.Path, fault, debug.Stack())
			s.problem(w, r, &answer{status: http.StatusInternalServerError, title: "A fault in the program",
				text: "Something went wrong that is not your doing. What was stored before stands as it was.",
				next: "The lines that say what happened are where the program was started from."})
		}()
		next.ServeHTTP(w, r)
	})
}
