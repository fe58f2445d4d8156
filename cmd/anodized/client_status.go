package main

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"anodized/controller"
	"anodized/controller/fault"
	"anodized/controller/record"
)

func init() { commands = append(commands, newStatusCommand) }

// status is what a person wants of the snapshot. Null is not known.
type status struct {
	State     string   `json:"state"`
	Run       string   `json:"run"`
	Simulated bool     `json:"simulated"`
	Waiting   []string `json:"waiting_for"`
	Interlock struct {
		Closed bool `json:"closed"`
	} `json:"interlock"`
	Supply struct {
		Volts   *float64 `json:"volts"`
		Amperes *float64 `json:"amperes"`
		Output  string   `json:"output"`
		AgeMS   *float64 `json:"age_ms"`
	} `json:"supply"`
	SafeToOpen struct {
		Proven bool   `json:"proven"`
		Why    string `json:"why"`
	} `json:"safe_to_open"`
	Bath struct {
		Celsius *float64 `json:"celsius"`
	} `json:"bath"`
	Estimates struct {
		Thickness *float64 `json:"thickness_by_volts_nm"`
		Density   *float64 `json:"current_density_ma_cm2"`
	} `json:"estimates"`
	Progress struct {
		Left *float64 `json:"seconds_left"`
	} `json:"progress"`
	Question *struct {
		Code fault.Code `json:"code"`
		Text string     `json:"text"`
	} `json:"question"`
	Findings []fault.Finding `json:"findings"`
	Trip     *record.Trip    `json:"trip"`
	Load     *struct {
		Rack    string `json:"rack"`
		Profile string `json:"profile"`
	} `json:"load"`
}

func newStatusCommand(e env) *cobra.Command {
	var f clientFlags
	command := &cobra.Command{
		Use:   "status",
		Short: "what the daemon of this machine does",
		Long:  "Shows the bench as the daemon last read it. Exit status: 0; 3 where no daemon answers.",
		Example: `  anodized status
  anodized status --json`,
		Args: cobra.NoArgs,
		RunE: func(command *cobra.Command, _ []string) error { return showStatus(command.Context(), e, f) },
	}
	f.register(command.Flags())
	return command
}

func showStatus(ctx context.Context, e env, f clientFlags) error {
	var whole json.RawMessage
	if err := f.client().get(ctx, "/api/status", &whole); err != nil {
		return err
	}
	if f.json {
		return printJSON(e.stdout, whole)
	}
	var now status
	if err := json.Unmarshal(whole, &now); err != nil {
		return cannot(fmt.Errorf("the status of the daemon: %w", err))
	}
	return now.print(e)
}

func (now status) print(e env) error {
	t := newTable(e.stdout)
	if now.Simulated {
		t.row(simulatedMark)
	}
	t.row("state\t%s", now.State)
	if now.Load != nil {
		t.row("load\t%s", loadWords(now.Run, now.Load.Rack, now.Load.Profile))
	}
	t.row("output\t%s, %s, %s", now.Supply.Output, figure(now.Supply.Volts, "%.2f V"), figure(now.Supply.Amperes, "%.4f A"))
	t.row("film\t%s, %s", figure(now.Estimates.Thickness, "%.1f nm"), figure(now.Estimates.Density, "%.3f mA/cm2"))
	t.row("left\t%s", figure(now.Progress.Left, "%.0f s"))
	t.row("lid\t%s, %s", lidWord(now.Interlock.Closed), now.opening())
	t.row("bath\t%s", figure(now.Bath.Celsius, "%.1f °C"))
	t.row("read\t%s", figure(now.Supply.AgeMS, "%.0f ms before this"))
	if len(now.Waiting) > 0 {
		t.row("waits\t%s", strings.Join(now.Waiting, "; "))
	}
	if now.Question != nil {
		words := "go-on, or give-up"
		if now.Question.Code == controller.GoodByEye {
			words = "yes, or no"
		}
		t.row("question\t%s (anodized answer %s)", now.Question.Text, words)
	}
	if now.Trip != nil {
		t.row("trip\t%s: %s %s", now.Trip.Code, now.Trip.Message, now.Trip.Action)
	}
	for _, one := range now.Findings {
		t.row("finding\t%s at %s: %s. %s", one.Code, moment(one.AtSeconds), strings.Join(one.Evidence, "; "), one.Action)
	}
	return t.done()
}

func lidWord(closed bool) string {
	if closed {
		return "closed"
	}
	return "not closed"
}

func (now status) opening() string {
	if now.SafeToOpen.Proven {
		return "safe to open"
	}
	return "do not open: " + now.SafeToOpen.Why
}
