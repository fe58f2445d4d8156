package plan

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
)

// identify returns the first 16 hex digits of the SHA-256 of the plan's JSON
// without its id. JSON keeps the order of the fields and every digit, so the same
// numbers always give the same id.
func identify(p Plan) (string, error) {
	p.ID = ""
	text, err := json.Marshal(p)
	if err != nil {
		return "", fmt.Errorf("plan %q: a number of it is not finite: %w", p.Profile, err)
	}
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:8]), nil
}
