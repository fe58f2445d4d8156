package main

import (
	"crypto/tls"
	"fmt"
	"io"
	"net"
	"os"
	"path/filepath"
	"strings"

	"anodized/controller/web"
	"anodized/profiles"
)

// configure takes from the file of --config what no flag said. Its paths are beside it,
// or from here where it is standard input.
func (f *serveFlags) configure(stdin io.Reader, given func(flag string) bool) error {
	if f.config == "" {
		return nil
	}
	content, err := profiles.ReadFile(f.config, stdin)
	if err != nil {
		return err
	}
	file, err := profiles.ReadDaemon(f.config, content)
	if err != nil {
		return err
	}
	f.here = filepath.Dir(f.config)
	for _, one := range []struct {
		flag, value string
		to          *string
	}{
		{"listen", file.Listen, &f.listen}, {"bench", f.beside(file.Bench), &f.bench}, {"journal", f.beside(file.Journal), &f.journal},
		{"board-watchdog", file.BoardWatchdog, &f.watchdog},
	} {
		if one.value != "" && !given(one.flag) {
			*one.to = one.value
		}
	}
	f.watchdogTime = file.BoardWatchdogTime
	f.hosts = append(f.hosts, file.Hosts...)
	f.profiles, f.racks = f.beside(file.Profiles), f.beside(file.Racks)
	if err := folders(f.profiles, f.racks); err != nil {
		return err
	}
	if f.persons, err = f.admitted(file.Credentials); err != nil {
		return err
	}
	f.sealed, err = sealing(f.beside(file.Certificate), f.beside(file.Key))
	return err
}

// beside makes a path of the file one that can be opened from here.
func (f *serveFlags) beside(path string) string {
	if path == "" || filepath.IsAbs(path) {
		return path
	}
	return filepath.Join(f.here, path)
}

func folders(paths ...string) error {
	for _, path := range paths {
		if path == "" {
			continue
		}
		if info, err := os.Stat(path); err != nil {
			return fmt.Errorf("the folder of the shop: %w: make it, or leave the key out", err)
		} else if !info.IsDir() {
			return fmt.Errorf("the folder of the shop: %s is a file: name the folder that it lies in", path)
		}
	}
	return nil
}

// leastToken is how long a token is that nobody guesses.
const leastToken = 20

// admitted are the persons with their tokens, which lie in files of their own.
func (f *serveFlags) admitted(list []profiles.Credential) ([]web.Person, error) {
	persons := make([]web.Person, len(list))
	for i, one := range list {
		persons[i] = web.Person{Name: one.Name, Operates: one.Role == profiles.RoleOperate, Password: one.Password}
		if one.TokenFile == "" {
			continue
		}
		token, err := readToken(f.beside(one.TokenFile))
		if err != nil {
			return nil, fmt.Errorf("the token of %s: %w", one.Name, err)
		}
		persons[i].Token = token
	}
	return persons, nil
}

// readToken reads a file that nobody else may read.
func readToken(path string) (string, error) {
	info, err := os.Stat(path)
	if err != nil {
		return "", fmt.Errorf("%w: make one: openssl rand -hex 32", err)
	}
	if open := info.Mode().Perm() & 0o027; open != 0 {
		return "", fmt.Errorf("%s may be read or changed by others (%04o): chmod 0600 it", path, info.Mode().Perm())
	}
	content, err := profiles.ReadFile(path, nil)
	token := strings.TrimSpace(string(content))
	if err == nil && (len(token) < leastToken || strings.ContainsAny(token, " \t\r\n")) {
		err = fmt.Errorf("%s has %d characters: at least %d in one line are needed: openssl rand -hex 32", path, len(token), leastToken)
	}
	return token, err
}

// sealing is what TLS needs, nil for none.
func sealing(certificate, key string) (*tls.Config, error) {
	if certificate == "" {
		return nil, nil
	}
	pair, err := tls.LoadX509KeyPair(certificate, key)
	if err != nil {
		return nil, fmt.Errorf("the certificate %s with its key %s: %w", certificate, key, err)
	}
	return &tls.Config{Certificates: []tls.Certificate{pair}, MinVersion: tls.VersionTLS12, NextProtos: []string{"http/1.1"}}, nil
}

// listening is the listener as the windows have it, with TLS where that is configured.
func (d *daemon) listening(bare net.Listener) net.Listener {
	if d.flags.sealed != nil {
		return tls.NewListener(bare, d.flags.sealed)
	}
	if !profiles.Loopback(d.flags.listen) {
		d.log.Warn("passwords and tokens cross the network in the open: give the daemon a certificate, or put a proxy with TLS before it")
	}
	return bare
}

// hosts are the names that the bench goes by: those that were given, and its address.
func (d *daemon) hosts() []string {
	host, _, err := net.SplitHostPort(d.flags.listen)
	if ip := net.ParseIP(host); err != nil || host == "" || ip != nil && ip.IsUnspecified() {
		return d.flags.hosts
	}
	return append(d.flags.hosts, host)
}

func (d *daemon) scheme() string {
	if d.flags.sealed != nil {
		return "https"
	}
	return "http"
}

// shopFile finds a file of the shop by its name, never by a path: what comes over the
// API names nothing outside that folder.
func shopFile(folder, name string) (path string, found bool) {
	if folder == "" || name == "" {
		return "", false
	}
	entries, err := os.ReadDir(folder)
	if err != nil {
		return "", false
	}
	for _, entry := range entries {
		stem, yaml := strings.CutSuffix(entry.Name(), ".yaml")
		if yaml && entry.Type().IsRegular() && strings.EqualFold(spaced(stem), spaced(name)) {
			return filepath.Join(folder, entry.Name()), true
		}
	}
	return "", false
}
