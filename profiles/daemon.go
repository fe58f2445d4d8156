package profiles

import "time"

// Daemon is what a shop writes down of its daemon. What is "" or empty was not given,
// and is then as the flags of the command say. Paths are as in the file: where they are
// relative, to the folder of the file.
type Daemon struct {
	Listen      string       `json:"listen,omitempty"` // HOST:PORT
	Hosts       []string     `json:"allowed_hosts,omitempty"`
	Bench       string       `json:"bench,omitempty"`
	Journal     string       `json:"journal,omitempty"`
	Profiles    string       `json:"profiles,omitempty"` // folder
	Racks       string       `json:"racks,omitempty"`    // folder
	Certificate string       `json:"certificate,omitempty"`
	Key         string       `json:"key,omitempty"` // of the certificate
	Credentials []Credential `json:"credentials,omitempty"`

	BoardWatchdog     string        `json:"board_watchdog,omitempty"`      // device, such as /dev/watchdog
	BoardWatchdogTime time.Duration `json:"board_watchdog_time,omitempty"` // until it starts the board again; 0: the usual one
}

// The roles of those who come with credentials. Both may stop, as everybody may.
const (
	RoleOperate = "operate" // starts, answers, acknowledges
	RoleWatch   = "watch"   // reads
)

// Credential is a person or a program that may reach the daemon, by a password or by a
// token.
type Credential struct {
	Name      string `json:"name"`
	Role      string `json:"role"`
	Password  string `json:"password,omitempty"` // its bcrypt hash, never itself
	TokenFile string `json:"token_file,omitempty"`
}
