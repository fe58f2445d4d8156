package main

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"anodized/controller/web"
)

func init() {
	commands = append(commands, newStopCommand, newAnswerCommand, newAcknowledgeCommand)
}

// What clients wait for at most, and how often they look.
const (
	offWait = 5 * time.Second
	ackWait = 2 * time.Second
	lookOff = 100 * time.Millisecond
)

func newStopCommand(e env) *cobra.Command {
	var f clientFlags
	var byEye bool
	command := &cobra.Command{
		Use:   "stop",
		Short: "stop now: output off, record kept",
		Long: "Tells the daemon of this machine to stop, and waits until the output is read back off.\n" +
			"Exit status: 0 it is off; 1 that is not confirmed: use the emergency stop; 3 no daemon answers.",
		Example: `  anodized stop
  anodized stop --by-eye        # the wanted colour is there: a good end`,
		Args: cobra.NoArgs,
		RunE: func(command *cobra.Command, _ []string) error { return sendStop(command.Context(), e, f, byEye) },
	}
	f.register(command.Flags())
	command.Flags().BoolVar(&byEye, "by-eye", false, "the wanted colour is there, which is a good end")
	return command
}

func sendStop(ctx context.Context, e env, f clientFlags, byEye bool) error {
	c := f.client()
	var answer web.StopAnswer
	if err := c.post(ctx, "/api/stop", web.StopRequest{ByEye: byEye, Why: "the terminal"}, &answer); err != nil {
		return err
	}
	now, off, err := c.until(ctx, offWait, func(now status) bool {
		return now.Supply.Output == "off" && now.State != "ramping" && now.State != "holding" && now.State != "contact-check"
	})
	if err != nil {
		return err
	}
	answer.Output = now.Supply.Output
	if err := told(e, f, answer, "stopped: the output is "+answer.Output); err != nil {
		return err
	}
	if !off {
		return notRight(errors.New("off is not confirmed: treat the output as on and use the emergency stop"))
	}
	return nil
}

// until looks at the status until it is as wanted, or the time is over.
func (c client) until(ctx context.Context, wait time.Duration, wanted func(status) bool) (now status, met bool, err error) {
	ctx, cancel := context.WithTimeout(ctx, wait)
	defer cancel()
	look := time.NewTicker(lookOff)
	defer look.Stop()
	for {
		select {
		case <-ctx.Done():
			return now, false, nil
		case <-look.C:
		}
		var fresh status
		if err := c.get(ctx, "/api/status", &fresh); err != nil && ctx.Err() == nil {
			return now, false, err
		} else if err == nil {
			now = fresh
		}
		if wanted(now) {
			return now, true, nil
		}
	}
}

// told prints an answer as JSON, or in words.
func told(e env, f clientFlags, answer any, words string) error {
	if f.json {
		return printJSON(e.stdout, answer)
	}
	_, err := fmt.Fprintln(e.stdout, words)
	return err
}

func newAnswerCommand(e env) *cobra.Command {
	var f clientFlags
	command := &cobra.Command{
		Use:   "answer go-on|give-up|yes|no",
		Short: "answer the daemon's question",
		Long: "Answers the open question: of the contact check with go-on or give-up, where silence for a\n" +
			"minute is a trip; after a stop on the page, whether the end is good by eye, with yes or no, where\n" +
			"silence is no. Exit status: 0; 2 another word; 3 no such question is open, or no daemon answers.",
		Example: `  anodized answer go-on
  anodized answer yes`,
		Args: cobra.ExactArgs(1), ValidArgs: []string{"go-on", "give-up", "yes", "no"},
		RunE: func(command *cobra.Command, args []string) error { return sendAnswer(command.Context(), e, f, args[0]) },
	}
	f.register(command.Flags())
	return command
}

func sendAnswer(ctx context.Context, e env, f clientFlags, word string) error {
	yes, no := true, false
	answer, known := map[string]web.AnswerRequest{"go-on": {GoOn: &yes}, "give-up": {GoOn: &no}, "yes": {ByEye: &yes}, "no": {ByEye: &no}}[word]
	if !known {
		return badInput(fmt.Errorf("answer %q: go-on or give-up, or yes or no after a stop", word))
	}
	var taken web.Taken
	if err := f.client().post(ctx, "/api/answer", answer, &taken); err != nil {
		return err
	}
	return told(e, f, taken, "answered: "+word)
}

func newAcknowledgeCommand(e env) *cobra.Command {
	var f clientFlags
	var who string
	command := &cobra.Command{
		Use:   "acknowledge",
		Short: "acknowledge a trip, in your name",
		Long: "Acknowledges a latched trip. It clears nothing whose cause is still there: the cell must be\n" +
			"dead, and the lid opened and closed since. It starts nothing. Exit status: 0 the trip is cleared;\n" +
			"1 it is not; 2 without a name; 3 no trip is latched, or no daemon answers.",
		Example: `  anodized acknowledge --who Ida`,
		Args:    cobra.NoArgs,
		RunE:    func(command *cobra.Command, _ []string) error { return sendAcknowledge(command.Context(), e, f, who) },
	}
	f.register(command.Flags())
	command.Flags().StringVar(&who, "who", "", "who acknowledges; $USER if not said")
	return command
}

func sendAcknowledge(ctx context.Context, e env, f clientFlags, who string) error {
	who = or(who, e.getenv("USER"))
	if who == "" {
		return badInput(errors.New("acknowledge in whose name? --who NAME"))
	}
	if err := nameFlag("who", who); err != nil {
		return badInput(err)
	}
	c := f.client()
	var before status // what is lacking now may be there a moment later
	if err := c.get(ctx, "/api/status", &before); err != nil {
		return err
	}
	var taken web.Taken
	if err := c.post(ctx, "/api/acknowledge", web.AcknowledgeRequest{Who: who}, &taken); err != nil {
		return err
	}
	now, cleared, err := c.until(ctx, ackWait, func(now status) bool { return now.State != "" && now.Trip == nil })
	if err != nil {
		return err
	}
	taken.State = now.State
	if !cleared {
		return errors.Join(told(e, f, taken, "still "+now.State), notRight(fmt.Errorf("not cleared: %s", or(strings.Join(before.Waiting, "; "), "ask again: what was in the way is gone by now"))))
	}
	return told(e, f, taken, "acknowledged by "+who)
}
