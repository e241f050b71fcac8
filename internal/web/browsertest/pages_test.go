//go:build browser

package browsertest

import (
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// pages lists every page of the told book. Whoever adds a page adds it here.
func (b *bench) pages() []string {
	b.t.Helper()
	ctx := b.t.Context()
	shelf, err := b.shop.Shelf(ctx)
	check(b.t, err)
	out := []string{"/type/" + b.typed, b.upload("morgen.csv", log1), b.upload("spoilt.csv", "time,frequency\n0,7065.1\n10,seven\n20,7065.3\n"), "/", "/sets/new", "/import", "/type", "/instruments", "/instruments/new", "/instruments/sound", "/words", "/nowhere"}
	live := url.Values{"state": {b.shelfState()}, "measurement": {"sensitivity"}, "label 0 input": {"-103 dBm"}}
	out = append(out, "/runs/"+b.heard, "/runs/"+b.heard+"/recordings/1", "/listen", "/listen/live?"+live.Encode(), b.uploadSound(),
		"/spectra?"+url.Values{"a": {b.heard + ":1"}, "b": {b.heard + ":2"}}.Encode())
	for i, item := range shelf {
		out = append(out, "/sets/"+item.Set.ID)
		v, err := b.shop.SetView(ctx, item.Set.ID, false)
		check(b.t, err)
		if i > 0 {
			continue
		}
		at := "/sets/" + item.Set.ID
		out = append(out, at+"/edit", at+"/states/new", at+"/configurations/new", at+"/modifications/new")
		for _, st := range v.States {
			for k, r := range st.Runs {
				if k == 0 {
					out = append(out, "/runs/"+r.Run.ID)
				}
			}
		}
		out = append(out, b.judgingPages()...)
		for _, m := range v.Modifications[:1] {
			out = append(out, at+"/claims/new?modification="+url.QueryEscape(m.Modification.ID))
		}
	}
	return out
}

// TestPagesFitAPhone: nothing has to be pushed sideways at 360 px, nor at
// 640 px with text at twice its size.
func TestPagesFitAPhone(t *testing.T) {
	b := told(t)
	for _, path := range b.pages() {
		for _, zoom := range []string{"100%", "200%"} {
			width := map[string]int64{"100%": 360, "200%": 640}[zoom]
			b.do(chromedp.EmulateViewport(width, 800))
			b.visit(path)
			ask[bool](b, fmt.Sprintf(`(document.documentElement.style.fontSize = %q, true)`, zoom))
			ask[bool](b, "(() => { document.querySelectorAll('details').forEach(d => d.open = true); return true })()")
			wide := ask[[]string](b, `(() => { const w = innerWidth; if (document.scrollingElement.scrollWidth <= w) return [];
				return [...document.querySelectorAll("main *, header *")].filter(e => e.getBoundingClientRect().right > w + 1 && !e.closest(".scroll"))
				.slice(0, 5).map(e => e.tagName + "." + e.className + " " + Math.round(e.getBoundingClientRect().right)).concat("scrollWidth " + document.scrollingElement.scrollWidth) })()`)
			if len(wide) > 0 {
				t.Errorf("%s at %s, %d px: too wide: %v", path, zoom, width, wide)
			}
		}
	}
}

// TestPagesCanBeUsedWithoutEyes runs the accessibility rules over every page.
func TestPagesCanBeUsedWithoutEyes(t *testing.T) {
	b := told(t)
	axe, err := os.ReadFile("../../../node_modules/axe-core/axe.min.js")
	if err != nil {
		t.Fatalf("the accessibility rules are missing, run npm ci: %v", err)
	}
	b.visit("/")
	ask[bool](b, string(axe)+"; document.querySelector('main').innerHTML += '<input>'; true")
	if n := ask[int](b, `axe.run(document).then(r => r.violations.length)`); n == 0 {
		t.Fatal("a field without a name was planted and not found")
	}
	for _, dark := range []bool{false, true} {
		b.look(dark, false)
		for _, path := range b.pages() {
			b.visit(path)
			ask[bool](b, "(() => { document.querySelectorAll('details').forEach(d => d.open = true); return true })()")
			ask[bool](b, string(axe)+"; true")
			faults := ask[[]string](b, `axe.run(document, {resultTypes: ["violations"]}).then(r => r.violations.flatMap(v =>
				v.nodes.slice(0, 3).map(n => v.id + ": " + v.help + ": " + n.html.slice(0, 160))))`)
			if len(faults) > 0 {
				t.Errorf("%s (dark %v):\n  %s", path, dark, strings.Join(faults, "\n  "))
			}
		}
	}
}

// TestNothingIsAskedForOutside watches what pages fetch.
func TestNothingIsAskedForOutside(t *testing.T) {
	b := told(t)
	for _, path := range b.pages() {
		b.visit(path)
		for _, got := range ask[[]string](b, `performance.getEntriesByType("resource").map(e => e.name)`) {
			if !strings.HasPrefix(got, b.home+"/") {
				t.Errorf("%s fetched %s", path, got)
			}
		}
	}
}

// TestPictures leaves pictures of all pages for the eye.
func TestPictures(t *testing.T) {
	dir := os.Getenv("SETWRIGHT_SHOTS")
	if dir == "" {
		t.Skip("SETWRIGHT_SHOTS names no folder")
	}
	b := told(t)
	for _, look := range []struct {
		name  string
		width int64
		dark  bool
		print bool
	}{{"wide", 1440, false, false}, {"narrow", 360, false, false}, {"dark", 1200, true, false}, {"print", 760, true, true}} {
		b.look(look.dark, look.print)
		b.do(chromedp.EmulateViewport(look.width, 900))
		for _, path := range b.pages() {
			b.visit(path)
			if strings.HasPrefix(path, "/runs/") && !look.print {
				ask[bool](b, "(() => { document.querySelectorAll('details').forEach(d => d.open = true); return true })()")
			}
			b.shoot(filepath.Join(dir, look.name+strings.NewReplacer("/", "_", "?", "_").Replace(short(path))+".png"))
		}
	}
}

func (b *bench) shoot(file string) {
	b.t.Helper()
	ask[bool](b, `document.fonts.ready.then(() => true)`)
	data, err := chromedp.Run(b.ctx, chromedp.FullScreenshot(100))
	check(b.t, err)
	check(b.t, os.WriteFile(file, data, 0o644))
}

// short leaves the passing name of a waiting file out of an address.
func short(path string) string {
	if i := strings.Index(path, "?file="); i >= 0 {
		return path[:i+10]
	}
	return path
}
