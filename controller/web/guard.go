package web

import (
	"errors"
	"fmt"
	"net"
	"net/http"
	"strconv"
	"strings"

	"anodized/profiles"
)

// policy lets the page use nothing but its own files, and the icon that it draws itself
// where nothing can be loaded.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; " +
	"manifest-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

// ErrCredentials is why an address that others can reach is refused.
var ErrCredentials = errors.New("other machines could reach it, and no credentials are configured")

// CheckListen refuses every address but those of this machine where no credentials
// are configured: whoever reaches the server may then start the bench.
func CheckListen(address string, credentials bool) error {
	if err := CheckPort(address); err != nil {
		return fmt.Errorf("listen at %q: %w: write it like 127.0.0.1:7070", address, err)
	}
	if credentials || profiles.Loopback(address) {
		return nil
	}
	return fmt.Errorf("listen at %q: %w: use 127.0.0.1 or [::1], or name persons in the file of --config", address, ErrCredentials)
}

// CheckPort refuses what is no host with the number of a port.
func CheckPort(address string) error {
	_, port, err := net.SplitHostPort(address)
	if err != nil {
		return err
	}
	if _, err := strconv.ParseUint(port, 10, 16); err != nil {
		return fmt.Errorf("%q is no port from 0 to 65535", port)
	}
	return nil
}

func hostList(more []string) map[string]bool {
	hosts := map[string]bool{"localhost": true, "127.0.0.1": true, "::1": true}
	for _, name := range more {
		hosts[strings.ToLower(name)] = true
	}
	return hosts
}

// known tells whether a request names this server by a name that is its own. The
// port does not matter: a forwarded port has another number.
func (s *Server) known(host string) bool {
	name := host
	if before, _, err := net.SplitHostPort(host); err == nil {
		name = before
	} else if strings.HasPrefix(host, "[") && strings.HasSuffix(host, "]") {
		name = host[1 : len(host)-1]
	}
	return s.hosts[strings.ToLower(name)]
}

// guard stands before every route.
func (s *Server) guard(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		head := w.Header()
		head.Set("Content-Security-Policy", policy)
		head.Set("X-Content-Type-Options", "nosniff")
		head.Set("Referrer-Policy", "no-referrer")
		head.Set("Cross-Origin-Resource-Policy", "same-origin")
		head.Set("Cache-Control", "no-store")
		if !s.known(r.Host) {
			s.refuse(w, r, http.StatusMisdirectedRequest, "this bench is not called by that name: use localhost")
			return
		}
		if err := s.origin.Check(r); err != nil {
			s.refuse(w, r, http.StatusForbidden, "a page of another site asked for this: open the bench's own page")
			return
		}
		admitted, known := s.admit(w, r)
		if known {
			next.ServeHTTP(w, admitted)
		}
	})
}

// refuse says no, and keeps who asked and why it was refused.
func (s *Server) refuse(w http.ResponseWriter, r *http.Request, status int, why string) {
	s.refused.Add(1)
	s.Log.Warn("a request was refused", "from", r.RemoteAddr, "host", brief(r.Host), "origin", brief(r.Header.Get("Origin")),
		"method", r.Method, "path", brief(r.URL.Path), "status", status)
	fail(w, status, Problem{Error: why})
}

// brief keeps what a stranger sent from filling the log.
func brief(text string) string {
	const most = 100
	if len(text) > most {
		return text[:most] + "..."
	}
	return text
}
