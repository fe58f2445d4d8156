package main

import (
	"os"
	"path/filepath"
)

// The tokens of the two persons of a shop.
const (
	operates = "the-token-of-one-who-operates"
	watches  = "the-token-of-one-who-watches"
)

const shopFile = `allowed hosts: [bench.example]
credentials:
  - name: Ida
    role: operate
    token file: ida.token
  - name: Jo
    role: watch
    token file: jo.token
`

// shop writes the file of a daemon that asks who comes, and gives the flag for it.
func shop(folder string) ([]string, error) {
	for name, text := range map[string]string{"daemon.yaml": shopFile, "ida.token": operates, "jo.token": watches} {
		if err := os.WriteFile(filepath.Join(folder, name), []byte(text), 0o600); err != nil {
			return nil, err
		}
	}
	return []string{"--config", filepath.Join(folder, "daemon.yaml")}, nil
}
