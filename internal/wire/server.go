package wire

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"strings"
	"time"

	"github.com/jfreymuth/pulse/proto"
)

// Server is the desktop's sound server, spoken to in the PulseAudio protocol.
type Server struct {
	// Address is where it listens, as PULSE_SERVER says it ("unix:/run/...");
	// empty for the usual place.
	Address string
	// Device is the name of an input, or a part of its name or description
	// that no other has; empty for the server's own choice.
	Device string
	// StallAfter is how long no sample may come before the capture ends with a
	// fault; zero is ten seconds.
	StallAfter time.Duration

	buffer uint32 // of the server for this capture, bytes; 0: its own choice
}

// Device is an input of the sound server.
type Device struct {
	ID       string // "alsa_input.usb-....analog-stereo"
	Name     string // for the person
	RateHz   float64
	Channels int
	Coding   string // as the device works: "s16le"
	Monitor  bool   // not an input: what a program plays
	Default  bool
	Muted    bool
}

// Name is "sound server".
func (s Server) Name() string { return "sound server" }

// Devices lists the inputs, the default one first.
func (s Server) Devices(ctx context.Context) ([]Device, error) {
	l, err := s.connect(ctx)
	if err != nil {
		return nil, err
	}
	defer l.close()
	sources, chosen, err := l.sources()
	if err != nil {
		return nil, err
	}
	var out []Device
	for _, src := range sources {
		d := Device{ID: src.SourceName, Name: src.Device, RateHz: float64(src.Rate), Channels: int(src.SampleSpec.Channels),
			Coding: formatName(src.Format), Monitor: isMonitor(src), Default: src.SourceName == chosen, Muted: src.Mute}
		if d.Default {
			out = append([]Device{d}, out...)
		} else {
			out = append(out, d)
		}
	}
	return out, nil
}

func isMonitor(s *proto.GetSourceInfoReply) bool { return s.MonitorSourceIndex != proto.Undefined }

// link is a connection to the server.
type link struct {
	client *proto.Client
	hangUp func()
}

func (l *link) close() { l.hangUp() }

// connect connects and says who we are.
func (s Server) connect(ctx context.Context) (*link, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	client, conn, err := proto.Connect(s.Address)
	if err != nil {
		return nil, s.noServer(err)
	}
	props := proto.PropList{"application.name": proto.PropListString("setwright")}
	if err := client.Request(&proto.SetClientName{Props: props}, &proto.SetClientNameReply{}); err != nil {
		_ = conn.Close()
		return nil, s.noServer(err)
	}
	return &link{client, func() { _ = conn.Close() }}, nil
}

// noServer says that there is none, and what else can be done.
func (s Server) noServer(err error) error {
	text := "no sound server answers here"
	if s.Address != "" {
		text = "no sound server answers at " + s.Address
	}
	if !errors.Is(err, fs.ErrNotExist) && !strings.Contains(err.Error(), "no valid server") {
		text += " (" + err.Error() + ")"
	}
	return &Fault{Kind: Died, Err: err, Text: text + "; pipe samples in with --raw, or record from the browser page"}
}

// sources lists the inputs and names the default one.
func (l *link) sources() ([]*proto.GetSourceInfoReply, string, error) {
	var info proto.GetServerInfoReply
	if err := l.client.Request(&proto.GetServerInfo{}, &info); err != nil {
		return nil, "", fmt.Errorf("the sound server does not say what it is: %w", err)
	}
	var list proto.GetSourceInfoListReply
	if err := l.client.Request(&proto.GetSourceInfoList{}, &list); err != nil {
		return nil, "", fmt.Errorf("the sound server does not list its inputs: %w", err)
	}
	return list, info.DefaultSourceName, nil
}

// choose finds the input that was asked for.
func (s Server) choose(list []*proto.GetSourceInfoReply, standard string) (*proto.GetSourceInfoReply, error) {
	want, exact := s.Device, s.Device == ""
	if exact {
		want = standard
	}
	var found []*proto.GetSourceInfoReply
	var names []string
	for _, src := range list {
		if src.SourceName == want {
			return src, nil
		}
		names = append(names, src.SourceName)
		part := strings.ToLower(want)
		if !exact && (strings.Contains(strings.ToLower(src.SourceName), part) || strings.Contains(strings.ToLower(src.Device), part)) {
			found = append(found, src)
		}
	}
	switch {
	case len(found) == 1:
		return found[0], nil
	case len(list) == 0:
		return nil, &Fault{Kind: Died, Text: "the sound server has no input; plug one in, or look whether another program holds it"}
	case len(found) > 1:
		return nil, &Fault{Kind: Died, Text: fmt.Sprintf("%q fits several inputs of the sound server: %s; name one of them", s.Device, strings.Join(names, ", "))}
	}
	return nil, &Fault{Kind: Died, Text: fmt.Sprintf("found no input %q at the sound server, expected one of %s", want, strings.Join(names, ", "))}
}

// The sample formats of the protocol, by their numbers.
var formats = map[byte]string{0: "u8", 3: "s16le", 4: "s16be", 5: "f32le", 6: "f32be", 7: "s32le", 8: "s32be", 9: "s24le", 10: "s24be"}

func formatName(n byte) string {
	if name, ok := formats[n]; ok {
		return name
	}
	return fmt.Sprintf("format %d", n)
}
