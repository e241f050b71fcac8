//go:build browser

package browsertest

import (
	"bytes"
	"context"
	"io"
	"log"
	"math"
	"math/rand/v2"
	"mime/multipart"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"setwright/internal/demo"
	"setwright/internal/intake"
	"setwright/internal/measure/list"
	"setwright/internal/store"
	"setwright/internal/web"
	"setwright/internal/workshop"
)

// bench is a book with its pages served, and a browser on them.
type bench struct {
	t     *testing.T
	shop  *workshop.Shop
	home  string // http://127.0.0.1:PORT
	typed string // id of the run that is being typed
	heard string // id of a run of two recordings
	shut  func() // the browser
	ctx   context.Context
}

// open serves an empty book and opens a browser.
func open(t *testing.T) *bench {
	t.Helper()
	b := &bench{t: t, shop: newShop(t, filepath.Join(t.TempDir(), "book"))}
	b.serve()
	b.browser()
	return b
}

func newShop(t *testing.T, dir string) *workshop.Shop {
	t.Helper()
	registry, err := list.Registry()
	check(t, err)
	book, err := store.Open(t.Context(), dir, store.Options{Create: true})
	check(t, err)
	t.Cleanup(func() { book.Close() })
	return workshop.New(book, registry)
}

// told opens a browser on a book with the invented scenario in it, and a run
// that is just being typed. The scenario is told once; each test has its copy.
func told(t *testing.T) *bench {
	t.Helper()
	once.Do(func() {
		dir, err := os.MkdirTemp("", "setwright-told-")
		check(t, err)
		registry, err := list.Registry()
		check(t, err)
		book, err := store.Open(context.Background(), filepath.Join(dir, "book"), store.Options{Create: true})
		check(t, err)
		shop := workshop.New(book, registry)
		check(t, demo.Tell(context.Background(), shop, io.Discard))
		check(t, book.Close())
		story = dir
	})
	dir := filepath.Join(t.TempDir(), "book")
	check(t, os.CopyFS(dir, os.DirFS(filepath.Join(story, "book"))))
	b := &bench{t: t, shop: newShop(t, dir)}
	r, err := b.shop.StartTyping(t.Context(), workshop.NewRun{State: "whimbrel", Measurement: "drift", Started: time.Now().Add(-40 * time.Minute)}, "kHz")
	check(t, err)
	for _, text := range []string{"1 min: 7065.91", "2 min: 7065.62", "3 min: 706.51", "4 min: 7065.31", "6 min: 7065.12", "10 min: 7064.95", "20 min: 7064.81"} {
		_, err := b.shop.TypeReading(t.Context(), r.ID, text)
		check(t, err)
		if text == "3 min: 706.51" {
			_, err := b.shop.StrikeLast(t.Context(), r.ID)
			check(t, err)
		}
	}
	b.typed = r.ID
	b.heard = b.importSound()
	b.serve()
	b.browser()
	return b
}

// importSound imports two recordings as a run: a tone in noise, and the noise.
func (b *bench) importSound() string {
	b.t.Helper()
	file := func(name, input string, peak float64) workshop.SoundFile {
		path := filepath.Join(b.t.TempDir(), name)
		r := rand.New(rand.NewPCG(5, 5))
		x := make([]float64, 4*int(knownRate))
		for i := range x {
			x[i] = peak*math.Sin(2*math.Pi*knownHz*float64(i)/knownRate) + 0.01*r.NormFloat64()
		}
		writeSound(b.t, path, x)
		src, err := intake.FileSource(path)
		check(b.t, err)
		return workshop.SoundFile{Source: src, Labels: map[string]string{"input": "-103 dBm", "signal": input}}
	}
	r, err := b.shop.ImportSound(b.t.Context(), workshop.NewRun{State: "whimbrel", Measurement: "sensitivity", Started: time.Now(), Options: map[string]string{"mode": "cw"}},
		[]workshop.SoundFile{file("on.wav", "on", 0.05), file("off.wav", "off", 0)}, nil)
	check(b.t, err)
	return r.ID
}

var (
	once  sync.Once
	story string // folder of the told book
)

// TestMain removes the told book.
func TestMain(m *testing.M) {
	code := m.Run()
	if story != "" {
		_ = os.RemoveAll(story)
	}
	os.Exit(code)
}

// uploadSound is upload of a recording.
func (b *bench) uploadSound() string {
	b.t.Helper()
	path := filepath.Join(b.t.TempDir(), "tone.wav")
	writeSound(b.t, path, knownSound()[:44100])
	data, err := os.ReadFile(path)
	check(b.t, err)
	return b.uploadFor("sensitivity", "tone.wav", string(data))
}

// upload sends a file to be looked at, and returns the address of its preview.
func (b *bench) upload(name, data string) string {
	b.t.Helper()
	return b.uploadFor("drift", name, data)
}

func (b *bench) uploadFor(measurement, name, data string) string {
	b.t.Helper()
	var body bytes.Buffer
	form := multipart.NewWriter(&body)
	check(b.t, form.WriteField("state", b.shelfState()))
	check(b.t, form.WriteField("measurement", measurement))
	part, err := form.CreateFormFile("file", name)
	check(b.t, err)
	_, err = io.WriteString(part, data)
	check(b.t, err)
	check(b.t, form.Close())
	resp, err := http.Post(b.home+"/import", form.FormDataContentType(), &body)
	check(b.t, err)
	resp.Body.Close()
	return resp.Request.URL.RequestURI()
}

// shelfState is the present state of the first set.
func (b *bench) shelfState() string {
	b.t.Helper()
	shelf, err := b.shop.Shelf(b.t.Context())
	check(b.t, err)
	return shelf[0].State.ID
}

// serve starts the pages; called again it starts them anew on another port, as
// after a fresh start of the program.
func (b *bench) serve() (stop func()) {
	b.t.Helper()
	l, err := web.Listen("127.0.0.1:0")
	check(b.t, err)
	return b.serveOn(l)
}

func (b *bench) serveOn(l net.Listener) (stop func()) {
	b.t.Helper()
	pages, err := web.New(b.shop, web.Options{StageDir: b.t.TempDir(), Log: log.New(os.Stderr, "pages: ", 0)})
	check(b.t, err)
	ctx, end := context.WithCancel(context.Background())
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		if err := pages.ServeOn(ctx, l); err != nil && ctx.Err() == nil {
			b.t.Errorf("serving: %v", err)
		}
	}()
	b.home = "http://" + l.Addr().String()
	stop = func() { end(); <-ended }
	b.t.Cleanup(stop)
	return stop
}

// browser opens a browser that asks nobody outside for anything.
func (b *bench) browser(more ...chromedp.ExecAllocatorOption) {
	b.t.Helper()
	opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.NoSandbox, chromedp.Flag("disable-gpu", true),
		chromedp.Flag("disable-component-update", true), chromedp.Flag("no-proxy-server", true))
	opts = append(opts, more...)
	alloc, endAlloc := chromedp.NewExecAllocator(context.Background(), opts...)
	ctx, end := chromedp.NewContext(alloc)
	b.shut = sync.OnceFunc(func() { end(); endAlloc() })
	b.t.Cleanup(b.shut)
	b.ctx = ctx
	check(b.t, chromedp.Do(ctx, chromedp.EmulateViewport(1280, 900)))
}

// do runs steps, which must be over within half a minute.
func (b *bench) do(steps ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, 30*time.Second)
	defer cancel()
	if err := chromedp.Do(ctx, steps...); err != nil {
		where, _ := chromedp.Run(b.ctx, chromedp.Evaluate[string](`location.href + "\n" + document.body.innerText.slice(0, 1500)`))
		b.t.Fatalf("%v\nat %s", err, where)
	}
}

// visit opens a page.
func (b *bench) visit(path string) {
	b.t.Helper()
	b.do(chromedp.Navigate(b.home + path))
}

// ask evaluates an expression in the page.
func ask[T any](b *bench, js string) T {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, 30*time.Second)
	defer cancel()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](js, chromedp.EvalAwaitPromise))
	if err != nil {
		b.t.Fatalf("%s: %v", js, err)
	}
	return v
}

// until waits until a page has come whole and an expression is true of it.
func (b *bench) until(js string) {
	b.t.Helper()
	for range 150 {
		ctx, cancel := context.WithTimeout(b.ctx, 10*time.Second)
		yes, err := chromedp.Run(ctx, chromedp.Evaluate[bool]("(() => { try { return document.readyState === \"complete\" && !!("+js+") } catch { return false } })()"))
		cancel()
		if err == nil && yes { // an error: the page is just changing
			return
		}
		time.Sleep(100 * time.Millisecond)
	}
	b.t.Fatalf("never came true: %s\nat %s", js, ask[string](b, `location.href + "\n" + document.body.innerText.slice(0, 1500)`))
}

// look asks for the dark colours, for print, or for the usual look.
func (b *bench) look(dark, print bool) {
	b.t.Helper()
	scheme, media := "light", ""
	if dark {
		scheme = "dark"
	}
	if print {
		media = "print"
	}
	b.do(func(ctx context.Context, t *chromedp.Target) (chromedp.Void, error) {
		_, err := cdp.Call(ctx, t, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
			Media: media, Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
		return chromedp.Void{}, err
	})
}

func check(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
