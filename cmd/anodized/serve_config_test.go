package main

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"fmt"
	"io"
	"math/big"
	"net"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const aToken = "0123456789abcdef0123456789abcdef"

// shopFolder is a folder with the file of a daemon and what it names.
func shopFolder(t *testing.T, files map[string]string) string {
	t.Helper()
	folder := t.TempDir()
	for name, content := range files {
		path := filepath.Join(folder, name)
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o700))
		require.NoError(t, os.WriteFile(path, []byte(content), 0o600))
	}
	return folder
}

const openDaemon = `listen: 0.0.0.0:0
allowed hosts: [bench.example]
journal: shop.db
profiles: ours
credentials:
  - name: Ida
    role: operate
    token file: ida.token
`

const ourProfile = "name: house blue\nmetal: titanium-grade-5\nbath: bicarbonate\ntarget: 30 V\nramp: 1 V/s\ncurrent density: 5 mA/cm2\nend:\n  time: 60 s\n"

// local is the address of a daemon that listens at all addresses.
func local(t *testing.T, said string) string {
	t.Helper()
	at, err := url.Parse(said)
	require.NoError(t, err)
	_, port, err := net.SplitHostPort(at.Host)
	require.NoError(t, err)
	return at.Scheme + "://127.0.0.1:" + port
}

func TestOtherMachinesNeedCredentials(t *testing.T) {
	t.Parallel()
	folder := shopFolder(t, map[string]string{"daemon.yaml": openDaemon, "ida.token": aToken + "\n", "ours/house-blue.yaml": ourProfile, "secret.yaml": "pass: zebra"})
	s := served{child: start(t, "serve", "--json", "--config", filepath.Join(folder, "daemon.yaml"))}
	s.announced()
	s.url = local(t, s.url)
	assert.FileExists(t, filepath.Join(folder, "shop.db"), "beside the file that names it")
	status, _ := s.get("/api/status")
	assert.Equal(t, http.StatusUnauthorized, status)
	code, _, messages := s.client("status")
	assert.Equal(t, statusCannot, code)
	assert.Contains(t, messages, "credentials are needed")
	code, out, _ := s.client("status", "--token-file", filepath.Join(folder, "ida.token"))
	assert.Equal(t, statusDone, code)
	assert.Contains(t, out, "SIMULATED")
	status, _ = s.post("/api/stop", map[string]any{})
	assert.Equal(t, http.StatusOK, status, "a stop needs none")
	for name, want := range map[string]int{"house blue": 200, "House-Blue": 200, "../secret": 400, "ours/house-blue": 400, filepath.Join(folder, "secret.yaml"): 400} {
		assert.Equal(t, want, s.bearing("/api/plan", `{"profile":"`+name+`"}`), name)
	}
}

// bearing posts with the token and gives the status.
func (s served) bearing(path, body string) int {
	s.t.Helper()
	request, err := http.NewRequest(http.MethodPost, s.url+path, strings.NewReader(body))
	require.NoError(s.t, err)
	request.Header.Set("Content-Type", "application/json")
	request.Header.Set("Authorization", "Bearer "+aToken)
	answer, err := http.DefaultClient.Do(request)
	require.NoError(s.t, err)
	status, said := s.read(answer)
	assert.NotContains(s.t, fmt.Sprint(said), "zebra")
	return status
}

func TestFlagsGoBeforeTheFile(t *testing.T) {
	t.Parallel()
	folder := shopFolder(t, map[string]string{"daemon.yaml": "listen: 127.0.0.1:1\njournal: not-this.db\n"})
	s := serve(t, "--config", filepath.Join(folder, "daemon.yaml"))
	status, _ := s.get("/api/status")
	assert.Equal(t, http.StatusOK, status)
	assert.NoFileExists(t, filepath.Join(folder, "not-this.db"))
}

func TestCertificateIsUsed(t *testing.T) {
	t.Parallel()
	certificate, key := selfSigned(t)
	folder := shopFolder(t, map[string]string{"daemon.yaml": "listen: 127.0.0.1:0\njournal: j.db\ncertificate: c.pem\nkey: c.key\n", "c.pem": certificate, "c.key": key})
	s := served{child: start(t, "serve", "--json", "--config", filepath.Join(folder, "daemon.yaml"))}
	s.announced()
	require.True(t, strings.HasPrefix(s.url, "https://"), s.url)
	trust := x509.NewCertPool()
	require.True(t, trust.AppendCertsFromPEM([]byte(certificate)))
	client := http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: trust}}}
	answer, err := client.Get(s.url + "/api/status")
	require.NoError(t, err)
	status, now := s.read(answer)
	assert.Equal(t, http.StatusOK, status)
	assert.Equal(t, true, now["simulated"])
	client.CloseIdleConnections()
}

func selfSigned(t *testing.T) (certificate, key string) {
	t.Helper()
	private, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	require.NoError(t, err)
	what := &x509.Certificate{SerialNumber: big.NewInt(1), NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour),
		IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)}, IsCA: true, BasicConstraintsValid: true}
	signed, err := x509.CreateCertificate(rand.Reader, what, what, &private.PublicKey, private)
	require.NoError(t, err)
	bytes, err := x509.MarshalPKCS8PrivateKey(private)
	require.NoError(t, err)
	return string(pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: signed})), string(pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: bytes}))
}

func TestDaemonFileThatIsWrongStartsNothing(t *testing.T) {
	good := map[string]string{"daemon.yaml": openDaemon, "ida.token": aToken, "ours/a.yaml": ourProfile}
	for name, c := range map[string]struct {
		change map[string]string
		says   string
	}{
		"open, without credentials": {map[string]string{"daemon.yaml": "listen: 0.0.0.0:0\n"}, "daemon.yaml:1:9: listen"},
		"an unknown key":            {map[string]string{"daemon.yaml": "listen: 127.0.0.1:0\npasswort: x\n"}, "daemon.yaml:2:1: unknown key"},
		"a short token":             {map[string]string{"ida.token": "ida"}, "at least 20"},
		"two tokens in a file":      {map[string]string{"ida.token": aToken + "\n" + aToken}, "in one line"},
		"no such folder":            {map[string]string{"daemon.yaml": "listen: 127.0.0.1:0\nracks: none\n"}, "the folder of the shop"},
		"a file for a folder":       {map[string]string{"daemon.yaml": "listen: 127.0.0.1:0\nracks: ida.token\n"}, "is a file"},
		"a certificate that is none": {map[string]string{"daemon.yaml": "listen: 127.0.0.1:0\ncertificate: ida.token\nkey: ida.token\n"},
			"the certificate"},
		"no such file": {map[string]string{"daemon.yaml": strings.Replace(openDaemon, "ida.token", "ida.key", 1)}, "openssl rand"},
	} {
		files := map[string]string{}
		for path, content := range good {
			files[path] = content
		}
		for path, content := range c.change {
			files[path] = content
		}
		folder := shopFolder(t, files)
		var out, said bytes.Buffer
		e := env{stdin: strings.NewReader(""), stdout: &out, stderr: &said, getenv: os.Getenv}
		assert.Equal(t, statusBadInput, run(t.Context(), e, []string{"serve", "--config", filepath.Join(folder, "daemon.yaml"), "--journal", filepath.Join(folder, "j.db")}), name)
		assert.Contains(t, said.String(), c.says, name)
		assert.NoFileExists(t, filepath.Join(folder, "j.db"), name)
		assert.Empty(t, out.String(), name)
	}
}

func TestTokenThatOthersCanReadIsRefused(t *testing.T) {
	folder := shopFolder(t, map[string]string{"daemon.yaml": openDaemon, "ida.token": aToken, "ours/a.yaml": ourProfile})
	require.NoError(t, os.Chmod(filepath.Join(folder, "ida.token"), 0o644))
	var said bytes.Buffer
	e := env{stdin: strings.NewReader(""), stdout: io.Discard, stderr: &said, getenv: os.Getenv}
	assert.Equal(t, statusBadInput, run(t.Context(), e, []string{"serve", "--config", filepath.Join(folder, "daemon.yaml")}))
	assert.Contains(t, said.String(), "chmod 0600")
}
