package web

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"errors"
	"net/http"
	"strings"
	"sync"

	"golang.org/x/crypto/bcrypt"
)

// Person is somebody, or a program, who may reach the server: by a password or by a
// token. Whoever does not operate watches.
type Person struct {
	Name     string
	Operates bool
	Password string // its bcrypt hash, "" for none
	Token    string // "" for none
}

// gate lets persons in. One without persons is open: then only this machine reaches it.
//
// A stop is never asked who it comes from: it needs no time, and no harm comes of it
// that a person at the bench could not mend by starting again.
type gate struct {
	persons []Person
	salt    string
	trying  chan struct{} // one password is worked on at a time: the bench needs the computer too

	mu     sync.Mutex
	proven map[[sha256.Size]byte]*Person // the passwords that were right, one a person, by their salted sum
}

var errStranger = errors.New("credentials are needed: a name with its password, or a token")

func newGate(persons []Person) *gate {
	return &gate{persons: persons, salt: rand.Text(), trying: make(chan struct{}, 1), proven: map[[sha256.Size]byte]*Person{}}
}

func (g *gate) open() bool { return len(g.persons) == 0 }

// enter tells who asks, nil where nobody has to say so.
func (g *gate) enter(r *http.Request) (*Person, error) {
	if g.open() {
		return nil, nil
	}
	if one := g.remembered(r); one != nil {
		return one, nil
	}
	name, password, given := r.BasicAuth()
	if !given {
		return nil, errStranger
	}
	return g.try(r.Context(), name, password)
}

// remembered is who asks where that can be told without working on a password.
func (g *gate) remembered(r *http.Request) *Person {
	if token, is := strings.CutPrefix(r.Header.Get("Authorization"), "Bearer "); is {
		return g.bearer(token)
	}
	name, password, given := r.BasicAuth()
	if !given {
		return nil
	}
	g.mu.Lock()
	defer g.mu.Unlock()
	return g.proven[g.sum(name, password)]
}

func (g *gate) sum(name, password string) [sha256.Size]byte {
	return sha256.Sum256([]byte(g.salt + "\x00" + name + "\x00" + password))
}

// bearer compares with every token, in a time that tells nothing of any.
func (g *gate) bearer(token string) (found *Person) {
	sum := sha256.Sum256([]byte(token))
	for i := range g.persons {
		own := sha256.Sum256([]byte(g.persons[i].Token))
		if subtle.ConstantTimeCompare(sum[:], own[:]) == 1 && g.persons[i].Token != "" {
			found = &g.persons[i]
		}
	}
	return found
}

// try works on a password; a name that is nobody's takes as long as a wrong one.
func (g *gate) try(ctx context.Context, name, password string) (*Person, error) {
	select {
	case g.trying <- struct{}{}:
		defer func() { <-g.trying }()
	case <-ctx.Done():
		return nil, ctx.Err()
	}
	one, hash := g.named(name)
	if bcrypt.CompareHashAndPassword([]byte(hash), []byte(password)) != nil || one == nil {
		return nil, errStranger
	}
	g.mu.Lock()
	defer g.mu.Unlock()
	g.proven[g.sum(name, password)] = one
	return one, nil
}

// named is a person with a password, and that password's hash; for nobody the hash of
// somebody else.
func (g *gate) named(name string) (one *Person, hash string) {
	for i := range g.persons {
		if g.persons[i].Password == "" {
			continue
		}
		hash = g.persons[i].Password
		if g.persons[i].Name == name {
			return &g.persons[i], hash
		}
	}
	return nil, hash
}

// operators are the names of those who may start.
func (g *gate) operators() []string {
	var names []string
	for _, one := range g.persons {
		if one.Operates {
			names = append(names, one.Name)
		}
	}
	return names
}

type personKey struct{}

// asker is who a request comes from, nil where nobody has to say so.
func asker(r *http.Request) *Person {
	one, _ := r.Context().Value(personKey{}).(*Person)
	return one
}

// named is the name of whoever asks, where they had to prove it, else the one given.
func named(r *http.Request, given string) string {
	if one := asker(r); one != nil {
		return one.Name
	}
	return given
}

// admit lets a request in that comes from somebody, and a stop from anybody.
func (s *Server) admit(w http.ResponseWriter, r *http.Request) (*http.Request, bool) {
	if isStop(r) {
		return r.WithContext(context.WithValue(r.Context(), personKey{}, s.gate.remembered(r))), true
	}
	one, err := s.gate.enter(r)
	if err != nil {
		w.Header().Set("WWW-Authenticate", `Basic realm="the anodize bench", charset="UTF-8"`)
		if r.Header.Get("Authorization") == "" { // a browser asks so first, and then its person
			fail(w, http.StatusUnauthorized, Problem{Error: errStranger.Error()})
			return r, false
		}
		s.refuse(w, r, http.StatusUnauthorized, errStranger.Error())
		return r, false
	}
	return r.WithContext(context.WithValue(r.Context(), personKey{}, one)), true
}

func isStop(r *http.Request) bool { return r.Method == http.MethodPost && r.URL.Path == stopPath }

// operate refuses those who only watch.
func (s *Server) operate(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if one := asker(r); one != nil && !one.Operates {
			s.refuse(w, r, http.StatusForbidden, one.Name+" watches and cannot do this: "+strings.Join(s.gate.operators(), ", ")+" may; stop works for everybody")
			return
		}
		next.ServeHTTP(w, r)
	})
}
