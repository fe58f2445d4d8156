package web

import (
	"net/http"
	"slices"
	"strings"
)

// allowed are the methods of each path. Who may GET may ask for the HEAD of it.
func allowed(routes []route) map[string][]string {
	methods := map[string][]string{"/page/": {http.MethodGet, http.MethodHead}}
	for _, r := range routes {
		methods[r.path] = append(methods[r.path], r.verb())
		if r.verb() == http.MethodGet {
			methods[r.path] = append(methods[r.path], http.MethodHead)
		}
	}
	return methods
}

// otherMethod answers what is asked in another way than a path may be.
func otherMethod(methods []string) http.HandlerFunc {
	slices.Sort(methods)
	allow := strings.Join(methods, ", ")
	return func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Allow", allow)
		fail(w, http.StatusMethodNotAllowed, Problem{Error: "not by " + r.Method + ": here is " + allow})
	}
}
