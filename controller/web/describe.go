package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"strings"
)

// node is a part of the OpenAPI description.
type node = map[string]any

// verb is how a route is asked for.
func (r route) verb() string {
	if r.method == "" {
		return http.MethodGet
	}
	return r.method
}

// describe writes the table of routes as OpenAPI 3.1.
func describe(routes []route, version string) ([]byte, error) {
	shapes := newShapes()
	paths := map[string]node{}
	for _, r := range routes {
		path := strings.TrimSuffix(r.path, "{$}")
		if paths[path] == nil {
			paths[path] = node{}
		}
		paths[path][strings.ToLower(r.verb())] = r.operation(shapes)
	}
	return json.Marshal(node{
		"openapi": "3.1.0",
		"info": node{"title": "anodized", "version": version,
			"description": "The bench controller of one anodize station. Every unit is in the name of its field; what is not known is null."},
		"paths":    paths,
		"security": []node{{}, {"password": []string{}}, {"token": []string{}}},
		"components": node{"schemas": shapes.named, "securitySchemes": node{
			"password": node{"type": "http", "scheme": "basic", "description": "where the bench has persons; never for a stop"},
			"token":    node{"type": "http", "scheme": "bearer", "description": "the same, for programs"},
		}},
	})
}

func (r route) operation(shapes *shapes) node {
	operation := node{"summary": r.summary, "responses": r.responses(shapes)}
	if list := r.parameters(); len(list) > 0 {
		operation["parameters"] = list
	}
	if r.in != nil {
		operation["requestBody"] = node{"content": content("application/json", shapes.of(r.in))}
	}
	return operation
}

func (r route) parameters() []node {
	var list []node
	if strings.Contains(r.path, "{id}") {
		list = append(list, node{"name": "id", "in": "path", "required": true,
			"description": "number of a run, or last", "schema": node{"type": "string", "pattern": runName.String()}})
	}
	for _, one := range r.ask {
		list = append(list, node{"name": one.name, "in": "query", "description": one.what, "schema": node{"type": "string"}})
	}
	return list
}

func (r route) responses(shapes *shapes) node {
	status := r.status
	if status == 0 {
		status = http.StatusOK
	}
	good := node{"description": "done"}
	switch {
	case r.out != nil:
		good["content"] = content("application/json", shapes.of(r.out))
	case r.kind != "":
		good["content"] = content(r.kind, node{})
	}
	list := node{fmt.Sprint(status): good}
	fails := r.fails
	if r.path != stopPath {
		fails = append([]int{http.StatusUnauthorized, http.StatusMisdirectedRequest}, fails...)
	}
	for _, code := range fails {
		list[fmt.Sprint(code)] = node{"description": http.StatusText(code), "content": content("application/json", shapes.of(Problem{}))}
	}
	return list
}

func content(kind string, schema node) node { return node{kind: node{"schema": schema}} }
