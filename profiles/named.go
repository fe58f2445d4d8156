package profiles

import (
	"fmt"
	"path/filepath"
	"strings"
)

// named reads the id of something that is embedded, or the path of a file of the
// shop, which is found from the folder of the file that names it.
func named(r *report, to *string, what string, ids func() []string) reader {
	return valued(func(s string) error {
		if id := matching(s, ids()); id != "" {
			*to = id
			return nil
		}
		if isPath(s) {
			*to = beside(r.file, s)
			return nil
		}
		return fmt.Errorf("no %s is called %q%s known: %s; or the path of a file, such as ./my-%s.yaml",
			what, brief(s), endSentence(didYouMean(s, ids())), strings.Join(ids(), ", "), what)
	})
}

// among reads the id of something that is embedded.
func among(to *string, what string, ids func() []string) reader {
	return valued(func(s string) error {
		if id := matching(s, ids()); id != "" {
			*to = id
			return nil
		}
		return fmt.Errorf("no %s is called %q%s known: %s", what, brief(s), endSentence(didYouMean(s, ids())), strings.Join(ids(), ", "))
	})
}

// matching finds a name whatever its case, with words parted by space, hyphen or
// underscore.
func matching(s string, names []string) string {
	for _, name := range names {
		if fold(name) == fold(s) {
			return name
		}
	}
	return ""
}

// isPath tells a path from a name: it has a folder or the ending of a YAML file.
func isPath(s string) bool {
	ending := strings.ToLower(filepath.Ext(s))
	return strings.ContainsAny(s, `/\`) || ending == ".yaml" || ending == ".yml"
}
