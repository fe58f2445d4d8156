package web

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"html/template"
	"io/fs"
	"net/http"
	"path"
	"strings"
)

//go:embed page
var pageFS embed.FS

// files are the files of the page by their address. There are no others.
type files map[string]file

type file struct {
	kind string
	body []byte
	mark string // of its content
}

var kinds = map[string]string{
	".css": "text/css; charset=utf-8", ".js": "text/javascript; charset=utf-8", ".svg": "image/svg+xml", ".json": "application/manifest+json",
}

func pageFiles() (files, error) {
	list := files{}
	err := fs.WalkDir(pageFS, "page", func(name string, entry fs.DirEntry, err error) error {
		kind, wanted := kinds[path.Ext(name)]
		if err != nil || !wanted {
			return err
		}
		body, err := pageFS.ReadFile(name)
		sum := sha256.Sum256(body)
		list["/"+name] = file{kind, body, hex.EncodeToString(sum[:8])}
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("read the files of the page: %w", err)
	}
	return list, nil
}

// ServeHTTP answers with a file. A browser that has it already is told so.
func (f files) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	one, known := f[r.URL.Path]
	if !known {
		fail(w, http.StatusNotFound, Problem{Error: "the page has no such file"})
		return
	}
	mark := `"` + one.mark + `"`
	w.Header().Set("ETag", mark)
	w.Header().Set("Cache-Control", "no-cache")
	if r.Header.Get("If-None-Match") == mark {
		w.WriteHeader(http.StatusNotModified)
		return
	}
	send(w, http.StatusOK, one.kind, one.body)
}

var index = template.Must(template.New("index.html").Funcs(template.FuncMap{
	"half": func(gap float64) string { return fmt.Sprintf("%.2f", gap/2) },
	"age":  ageWords,
}).ParseFS(pageFS, "page/index.html"))

// getPage is the first paint: all that is known, before any script.
func (s *Server) getPage(w http.ResponseWriter, r *http.Request) {
	var body bytes.Buffer
	shown := struct {
		View
		Watching string // why there are no keys but Stop, "" where there are
	}{View: s.painter.view(s.Station.Snapshot(), s.pump.result())}
	if one := asker(r); one != nil && !one.Operates {
		shown.Watching = "watching; to operate: " + strings.Join(s.gate.operators(), ", ")
	}
	if err := index.Execute(&body, shown); err != nil {
		s.Log.Error("the page could not be written", "error", err)
		fail(w, http.StatusInternalServerError, Problem{Error: "the page could not be written"})
		return
	}
	send(w, http.StatusOK, "text/html; charset=utf-8", body.Bytes())
}
