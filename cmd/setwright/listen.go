package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"setwright/internal/measure"
	"setwright/internal/measure/list"
	"setwright/internal/wire"
	"setwright/internal/workshop"
)

// listenFlags are what "bench listen" was told.
type listenFlags struct {
	raw              bool
	rate             string
	format           string
	channels         int
	channel          string
	device, server   string
	stall, length    string
	to               string
	run, role, title string
	labels           []string
	instruments      []string
	list, asJSON     bool
	new              workshop.NewListening
}

func newBenchListen(registry *measure.Registry) *cobra.Command {
	var f listenFlags
	cmd := &cobra.Command{
		Use: "listen", Short: "Record live sound into the book, with meters", Args: cobra.NoArgs,
		Long: `Sound comes from the desktop's sound server, or with --raw as raw samples on
standard input from any recorder. It is in the book's folder while it comes: a
program that is killed loses nothing that came, a pulled plug less than a second.

Space or Enter marks the moment, q or Ctrl-C stops, and what came is kept. Every
place where samples were lost on the way is found, said, and kept with the
recording.`,
		Example: `  setwright bench listen --list
  setwright bench listen --state turnstone --measurement drift --for 30min
  sox -q -d -t raw -r 48000 -e signed -b 16 -c 1 - | setwright bench listen --raw --rate 48000 --format s16le --state turnstone
  setwright bench listen --to beat.wav --for 10s`,
	}
	listenFlagsOf(cmd, &f)
	chosen := measurementFlags(cmd, registry)
	cmd.RunE = func(cmd *cobra.Command, _ []string) error {
		if f.list {
			return listDevices(cmd, f)
		}
		about, options, err := chosen()
		if err != nil {
			return err
		}
		f.new.Measurement, f.new.Options = about.ID, options
		return listenLive(cmd, f)
	}
	return cmd
}

func listenFlagsOf(cmd *cobra.Command, f *listenFlags) {
	g := cmd.Flags()
	g.BoolVar(&f.raw, "raw", false, "take raw samples from standard input")
	g.StringVar(&f.rate, "rate", "", "sample rate, in Hz (with --raw needed, unless the stream has a header)")
	g.StringVar(&f.format, "format", "s16le", "with --raw, how samples are written: "+strings.Join(wire.CodingNames(), ", "))
	g.IntVar(&f.channels, "channels", 0, "number of channels (default with --raw: 1)")
	g.StringVar(&f.channel, "channel", "1", "the channel that is looked at, from 1, or mean")
	g.StringVar(&f.device, "device", "", "input of the sound server, or a part of its name")
	g.StringVar(&f.server, "server", "", "where the sound server listens (default: the usual place)")
	g.BoolVar(&f.list, "list", false, "list the inputs of the sound server")
	g.StringVar(&f.stall, "stall", "10 s", "how long no sample may come before the recording ends")
	g.StringVar(&f.length, "for", "", "stop after so long, for example 30s")
	g.StringVar(&f.to, "to", "", "record into FILE.wav, without a book")
	g.StringVar(&f.new.State, "state", "", "a state, or a set or configuration whose latest state is meant")
	g.StringVar(&f.run, "run", "", "add the recording to this run")
	g.StringVar(&f.role, "role", "", "what the recording is of, where the measurement takes several kinds")
	g.StringArrayVar(&f.labels, "label", nil, "what was set meanwhile, NAME=VALUE, for example input=-73dBm")
	g.StringVar(&f.title, "title", "", "title of the run")
	g.StringVar(&f.new.Notes, "notes", "", "what happened during the run")
	g.StringVar(&f.new.Setup.Operator, "operator", "", "who is at the bench")
	g.StringArrayVar(&f.instruments, "instrument", nil, "ID of an instrument of the bench that is used")
	g.BoolVar(&f.asJSON, "json", false, "print one JSON object")
}

// listDevices lists the inputs of the sound server.
func listDevices(cmd *cobra.Command, f listenFlags) error {
	devices, err := wire.Server{Address: f.server}.Devices(cmd.Context())
	if err != nil {
		return err
	}
	if len(devices) == 0 {
		fmt.Fprintln(cmd.OutOrStdout(), "The sound server has no input.")
		return nil
	}
	rows := [][]string{{"input", "name", "rate", "channels", "format", ""}}
	for _, d := range devices {
		var what []string
		if d.Default {
			what = append(what, "taken where none is named")
		}
		if d.Monitor {
			what = append(what, "what programs play")
		}
		if d.Muted {
			what = append(what, "muted")
		}
		rows = append(rows, []string{d.ID, d.Name, fmt.Sprintf("%.0f Hz", d.RateHz), fmt.Sprint(d.Channels), d.Coding, strings.Join(what, ", ")})
	}
	printTable(cmd.OutOrStdout(), rows)
	return nil
}

// listenLive records.
func listenLive(cmd *cobra.Command, f listenFlags) error {
	length, err := f.check()
	if err != nil {
		return err
	}
	if f.to != "" {
		registry, err := list.Registry()
		if err != nil {
			return err
		}
		return recordLive(cmd, workshop.New(nil, registry), f, length)
	}
	if f.new.State == "" && f.run == "" {
		return usagef("bench listen: say what the recording is for with --state or --run, or name a file with --to")
	}
	return withShop(cmd, false, func(shop *workshop.Shop) error {
		sayUnfinished(cmd, shop)
		if f.new.Setup.Instruments, err = shop.BenchInstruments(cmd.Context(), f.instruments); err != nil {
			return err
		}
		return recordLive(cmd, shop, f, length)
	})
}

// check reads what was typed.
func (f *listenFlags) check() (length time.Duration, err error) {
	if f.length != "" {
		s, err := flagNumber("--for", f.length, "s")
		if err != nil {
			return 0, err
		}
		if s <= 0 {
			return 0, usagef("--for: found %q, expected more than zero, for example 30s", f.length)
		}
		length = time.Duration(s * float64(time.Second))
	}
	f.new.Run, f.new.Role, f.new.Title = f.run, f.role, f.title
	if f.new.Labels, err = pairs("--label", f.labels); err != nil {
		return 0, err
	}
	if f.new.Channel, err = parseChannel(f.channel); err != nil {
		return 0, err
	}
	return length, nil
}

// mostStallS is the longest that --stall takes.
const mostStallS = 3600

// input is the sound input that was asked for.
func (f listenFlags) input(cmd *cobra.Command) (wire.SoundInput, wire.Want, error) {
	want := wire.Want{Channels: f.channels}
	stall, err := flagNumber("--stall", f.stall, "s")
	if err != nil {
		return nil, want, err
	}
	if f.rate != "" {
		if want.RateHz, err = flagNumber("--rate", f.rate, "Hz"); err != nil {
			return nil, want, err
		}
	}
	if stall <= 0 || stall > mostStallS {
		return nil, want, usagef("--stall: found %q, expected more than zero and up to an hour, for example 10 s", f.stall)
	}
	if want.Channels < 0 || f.rate != "" && !(want.RateHz > 0) {
		return nil, want, usagef("--channels and --rate: found %d and %q, expected more than zero", f.channels, f.rate)
	}
	after := time.Duration(stall * float64(time.Second))
	if !f.raw {
		return wire.Server{Address: f.server, Device: f.device, StallAfter: after}, want, nil
	}
	if in, ok := cmd.InOrStdin().(*os.File); ok && isKeyboard(in) {
		return nil, want, usagef("bench listen --raw: standard input is the keyboard, expected samples from a recorder: RECORDER | setwright bench listen --raw ...")
	}
	coding, err := wire.ParseCoding(f.format)
	if err != nil {
		return nil, want, usagef("--format: %w", err)
	}
	return wire.Raw{From: cmd.InOrStdin(), Coding: coding, StallAfter: after}, want, nil
}

// recordLive opens the input and records until it is stopped.
func recordLive(cmd *cobra.Command, shop *workshop.Shop, f listenFlags, length time.Duration) error {
	input, want, err := f.input(cmd)
	if err != nil {
		return err
	}
	capture, err := input.Open(cmd.Context(), want)
	if err != nil {
		return err
	}
	defer capture.Close()
	f.new.Sound = capture.Sound()
	l, err := beginListening(cmd, shop, f)
	if err != nil {
		return err
	}
	ctx, stop := context.WithCancel(cmd.Context())
	defer stop()
	quiet := watchKeys(cmd, l, f.raw, stop)
	shown := showListening(cmd.ErrOrStderr(), l)
	err = l.Follow(ctx, capture, length)
	shown()
	quiet()
	why, cut := workshop.Ended(err, l.Elapsed(), length)
	return finishListening(cmd, f, l, why, cut)
}

// beginListening begins the recording in the book or in a file.
func beginListening(cmd *cobra.Command, shop *workshop.Shop, f listenFlags) (*workshop.Listening, error) {
	if f.to != "" {
		return shop.ListenToFile(f.to, f.new)
	}
	return shop.StartListening(cmd.Context(), f.new)
}

// finishListening stores the recording, also after Ctrl-C, and says what it is.
func finishListening(cmd *cobra.Command, f listenFlags, l *workshop.Listening, why string, cut bool) error {
	ctx := context.WithoutCancel(cmd.Context())
	var got workshop.Listened
	var err error
	status := l.Status()
	if cut {
		got, err = l.Cut(ctx, why)
	} else {
		got, err = l.Stop(ctx)
	}
	if err != nil {
		if f.to == "" && !errors.Is(err, workshop.ErrNothingCame) {
			err = fmt.Errorf("%w; when that is mended: setwright bench recover", err)
		}
		return err
	}
	if f.asJSON {
		err = printListenedJSON(cmd.OutOrStdout(), got)
	} else {
		printListened(cmd.OutOrStdout(), f.to, got, status)
	}
	if cut && err == nil {
		return fmt.Errorf("%s; what came until then is kept", why)
	}
	return err
}
