package web

import (
	"context"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"net/http"
	"net/url"
	"strings"
	"time"

	"github.com/coder/websocket"

	"setwright/internal/workshop"
)

// hello is the first message of a page that records: what was said in its form,
// and what the browser says of its input.
type hello struct {
	Form  string `json:"form"` // the query of the page's address
	Sound struct {
		Path       string  `json:"path"`
		Device     string  `json:"device"`
		RateHz     float64 `json:"rate_hz"`
		Channels   int     `json:"channels"`
		DeviceRate float64 `json:"device_rate_hz"`
		Echo       *bool   `json:"echo"`
		Noise      *bool   `json:"noise"`
		Gain       *bool   `json:"gain"`
	} `json:"sound"`
}

// told is a message of the page meanwhile.
type toldByPage struct {
	Mark *string `json:"mark"`
	Stop bool    `json:"stop"`
	Cut  string  `json:"cut"` // why the input ended
}

// soundAnswer is what the page is told.
type soundAnswer struct {
	Refused string                    `json:"refused,omitempty"`
	Begun   string                    `json:"begun,omitempty"`
	Stored  string                    `json:"stored,omitempty"` // address of the run
	Status  *workshop.ListeningStatus `json:"status,omitempty"`
}

// The forms of what a page may say of its input.
const (
	leastPageRate   = 4000
	mostPageRate    = 400000
	mostChannels    = 8
	mostMessage     = 4 << 20 // bytes of one block of sound
	helloWithin     = 10 * time.Second
	answerWithin    = 10 * time.Second
	headerBytes     = 16 // stamp, number of frames, time stood still
	bytesPerSample  = 4
	waitingS        = 0.15 // of sound that a browser keeps for a thread that stands still; what it drops is missing behind that
	pageClosedWords = "the page was closed, or its connection broke"
)

// takeSound takes live sound from a page. What came is in the book's folder
// before the next block is read, so that a page that is closed loses at most
// what was on its way.
func (s *Server) takeSound(w http.ResponseWriter, r *http.Request) error {
	conn, err := websocket.Accept(w, r, nil) // of this origin only
	if err != nil {
		return nil // Accept has answered
	}
	defer conn.CloseNow()
	conn.SetReadLimit(mostMessage)
	ctx := context.WithoutCancel(r.Context())
	l, channels, err := s.hello(ctx, conn)
	if err != nil {
		say(ctx, conn, soundAnswer{Refused: answerOf(err).text})
		_ = conn.Close(websocket.StatusNormalClosure, "")
		return nil
	}
	say(ctx, conn, soundAnswer{Begun: l.ID})
	stop := tellStatus(ctx, conn, l)
	why, asked := follow(ctx, conn, l, channels)
	stop()
	s.store(ctx, conn, l, why, asked)
	return nil
}

// hello reads the first message and begins the recording.
func (s *Server) hello(ctx context.Context, conn *websocket.Conn) (*workshop.Listening, int, error) {
	ctx, cancel := context.WithTimeout(ctx, helloWithin)
	defer cancel()
	kind, data, err := conn.Read(ctx)
	if err != nil || kind != websocket.MessageText {
		return nil, 0, badRequest("The page did not say what it records.")
	}
	var h hello
	if err := json.Unmarshal(data, &h); err != nil {
		return nil, 0, badRequest("What the page says of its input cannot be read: %v.", err)
	}
	in := h.Sound
	if !(in.RateHz >= leastPageRate && in.RateHz <= mostPageRate) || in.Channels < 1 || in.Channels > mostChannels {
		return nil, 0, badRequest("The page gives %d channel(s) at %g Hz: expected 1 to %d at %d to %d Hz.", in.Channels, in.RateHz, mostChannels, leastPageRate, mostPageRate)
	}
	form, err := url.ParseQuery(strings.TrimPrefix(h.Form, "?"))
	if err != nil {
		return nil, 0, badRequest("The address of the page cannot be read: %v.", err)
	}
	n, _, err := s.newListening(ctx, form)
	if err != nil {
		return nil, 0, err
	}
	n.Sound = workshop.LiveSound{Path: in.Path, Device: in.Device, RateHz: in.RateHz, Channels: in.Channels, Coding: workshop.Float32,
		DeviceRate: in.DeviceRate, PathRate: in.RateHz, Echo: in.Echo, Noise: in.Noise, Gain: in.Gain}
	l, err := s.shop.StartListening(ctx, n)
	return l, in.Channels, err
}

// follow feeds what the page sends until it stops or breaks off; why is the
// fault that ended it, empty where the user did.
func follow(ctx context.Context, conn *websocket.Conn, l *workshop.Listening, channels int) (why string, asked bool) {
	for {
		kind, data, err := conn.Read(ctx)
		if err != nil {
			return pageClosedWords, false
		}
		if kind == websocket.MessageBinary {
			block, err := blockOf(data, channels)
			if err == nil {
				err = l.Feed(block)
			}
			if err != nil {
				return err.Error(), true
			}
			continue
		}
		var t toldByPage
		if err := json.Unmarshal(data, &t); err != nil {
			return fmt.Sprintf("the page said what cannot be read: %v", err), true
		}
		switch {
		case t.Stop:
			return "", true
		case t.Cut != "":
			return t.Cut, true
		case t.Mark != nil:
			if _, err := l.Mark(*t.Mark); err != nil {
				return err.Error(), true
			}
		}
	}
}

// blockOf reads a block of sound: the page's clock at its first frame in seconds
// (float64), the number of frames (uint32), how long the path stood still before
// it in seconds (float32), then the samples (float32), channels interleaved, all
// with the lowest byte first.
func blockOf(data []byte, channels int) (workshop.LiveBlock, error) {
	le := binary.LittleEndian
	if len(data) < headerBytes || len(data) != headerBytes+int(le.Uint32(data[8:]))*channels*bytesPerSample {
		return workshop.LiveBlock{}, errors.New("the page sent a block whose length is not what it says")
	}
	b := workshop.LiveBlock{StampS: math.Float64frombits(le.Uint64(data)), Stamped: true, At: time.Now(),
		Samples: make([]float64, (len(data)-headerBytes)/bytesPerSample)}
	if still := float64(math.Float32frombits(le.Uint32(data[12:]))); still > 0 {
		b.DoubtS, b.Why = waitingS, fmt.Sprintf("the audio thread stood still for %.0f ms: samples may be missing near here", 1000*still)
	}
	for i := range b.Samples {
		b.Samples[i] = float64(math.Float32frombits(le.Uint32(data[headerBytes+i*bytesPerSample:])))
	}
	return b, nil
}

// tellStatus tells the page how it stands until stop is called.
func tellStatus(ctx context.Context, conn *websocket.Conn, l *workshop.Listening) (stop func()) {
	status, unsubscribe := l.Subscribe()
	done := make(chan struct{})
	go func() {
		defer close(done)
		for st := range status {
			say(ctx, conn, soundAnswer{Status: &st})
		}
	}()
	return func() {
		unsubscribe()
		<-done
	}
}

// store ends the recording and tells the page where it is, if it still listens.
func (s *Server) store(ctx context.Context, conn *websocket.Conn, l *workshop.Listening, why string, heard bool) {
	var got workshop.Listened
	var err error
	if why == "" {
		got, err = l.Stop(ctx)
	} else {
		got, err = l.Cut(ctx, why)
	}
	if err != nil {
		s.opt.Log.Printf("web: recording %s: %v", l.ID, err)
	}
	if !heard {
		return
	}
	answer := soundAnswer{Stored: "/runs/" + pathOf(got.Run.ID) + "?done=recorded"}
	if err != nil {
		answer = soundAnswer{Refused: answerOf(err).text}
	}
	say(ctx, conn, answer)
	_ = conn.Close(websocket.StatusNormalClosure, "")
}

// say sends an answer; a page that does not listen any more is no fault.
func say(ctx context.Context, conn *websocket.Conn, a soundAnswer) {
	ctx, cancel := context.WithTimeout(ctx, answerWithin)
	defer cancel()
	if data, err := json.Marshal(a); err == nil {
		_ = conn.Write(ctx, websocket.MessageText, data)
	}
}
