//go:build browser

package browsertest

import (
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// A log as an old logger of the continent leaves it: semicolons, decimal
// commas, and a heading that misleads about the second number.
const log1 = "Zeit;Temperatur;Wert\r\n" +
	"0:30;18,2;8512,9140\r\n1:00;18,2;8512,8251\r\n1:30;18,3;8512,7543\r\n2:00;18,2;8512,6980\r\n3:00;18,3;8512,6103\r\n" +
	"4:00;18,3;8512,5512\r\n5:00;18,4;8512,5089\r\n7:00;18,4;8512,4551\r\n10:00;18,4;8512,4120\r\n15:00;18,5;8512,3807\r\n" +
	"20:00;18,5;8512,3672\r\n25:00;18,5;8512,3611\r\n30:00;18,6;8512,3580\r\n40:00;18,6;8512,3561\r\n50:00;18,6;8512,3553\r\n60:00;18,7;8512,3549\r\n"

// takeIn takes a set in by the form on the empty shelf.
func (b *bench) takeIn(name string) {
	b.t.Helper()
	b.visit("/")
	b.do(chromedp.SendKeys(chromedp.CSS("input[name=name]"), name), chromedp.Click(chromedp.CSS(".form button")))
	b.until(`location.pathname.startsWith("/sets/") && document.querySelector("h1").textContent === ` + quoted(name))
}

func quoted(s string) string { return `"` + s + `"` }

// A log with decimal commas is dropped in, a column put right, and stored; the
// file comes back byte for byte.
func TestImportWithDecimalCommasPutRightAndStored(t *testing.T) {
	b := open(t)
	b.takeIn("Whimbrel")
	file := filepath.Join(t.TempDir(), "morgen.csv")
	check(t, os.WriteFile(file, []byte(log1), 0o644))
	b.do(chromedp.Click(chromedp.CSS("a[href^='/import?state=']")), chromedp.WaitVisible(chromedp.CSS("input[type=file]")),
		chromedp.SetUploadFiles(chromedp.CSS("input[type=file]"), []string{file}), chromedp.Click(chromedp.CSS(".form button")))
	b.until(`location.pathname === "/import/preview"`)
	if got := ask[string](b, `document.querySelector("select[name=decimal]").value`); got != "comma" {
		t.Errorf("decimal sign seen as %q", got)
	}
	if runs, err := b.shop.Shelf(t.Context()); err != nil || runs[0].Runs != 0 {
		t.Errorf("something was stored before anybody said so: %+v %v", runs, err)
	}
	// The temperature is of the shack, nowhere near the set: leave it alone.
	choose := func(name, value string) {
		ask[bool](b, `(() => { const s = document.querySelector('[name="`+name+`"]'); s.value = "`+value+`"; return s.value === "`+value+`" || (() => { throw new Error("no such choice") })() })()`)
	}
	choose("c2 role", "ignore")
	choose("c3 role", "frequency")
	choose("c3 unit", "kHz")
	b.do(chromedp.Click(chromedp.CSS("form[action='/import/preview'] button.quiet")))
	b.until(`document.querySelector('[name="fixed c2 role"]')`)
	if seen := ask[string](b, `document.querySelector(".asread tbody").innerText`); !strings.Contains(seen, "8512.914 kHz") || !strings.Contains(seen, "30 s") {
		t.Errorf("the rows are read as %q", seen)
	}
	b.do(chromedp.SendKeys(chromedp.CSS("[name='opt dial']"), "7.9 MHz"), chromedp.Click(chromedp.CSS("button[formaction='/import/store']")))
	b.until(`location.pathname.startsWith("/runs/")`)
	if n := ask[int](b, `document.querySelectorAll("table.figures > tbody > tr:not(.more)").length`); n < 4 {
		t.Errorf("%d figures", n)
	}
	if back := ask[string](b, `fetch(location.pathname + "/raw").then(r => r.text())`); back != log1 {
		t.Errorf("the file came back changed: %q", back)
	}
	// Every reading can be stepped through from the keyboard.
	b.do(chromedp.Click(chromedp.CSS("chart-readout")))
	ask[bool](b, `(document.querySelector("chart-readout").focus(), true)`)
	b.do(chromedp.KeyEvent(kb.Home))
	b.until(`/^1 of 16: /.test(document.querySelector("chart-readout output").textContent)`)
	b.do(chromedp.KeyEvent(kb.ArrowRight))
	b.until(`/^2 of 16: /.test(document.querySelector("chart-readout output").textContent)`)
}

// Readings are typed with one hand: Enter takes, x strikes the last out, and
// when the program is started anew all of it is still there.
func TestReadingsTypedAtTheBenchByKeyboardAlone(t *testing.T) {
	b := open(t)
	b.takeIn("Whimbrel")
	b.do(chromedp.Click(chromedp.CSS("a[href^='/type?state=']")), chromedp.WaitVisible(chromedp.CSS("[name=unit]")),
		chromedp.Click(chromedp.CSS(".form > .buttons:last-of-type button")))
	b.until(`document.activeElement && document.activeElement.name === "reading"`)
	typed := func(text string, readings int) {
		t.Helper()
		b.do(chromedp.KeyEvent(text + "\r"))
		b.until(`document.querySelectorAll(".tape li").length === ` + strconv.Itoa(readings) + ` && document.activeElement.name === "reading"`)
	}
	typed("7065.9", 1)
	typed("7 065.7", 2) // a space is a space
	typed("706.51", 3)
	b.do(chromedp.KeyEvent("x"))
	b.until(`document.querySelectorAll(".tape .struck").length === 1 && document.querySelector("input[name=reading]").value === ""`)
	if n := ask[string](b, `document.querySelector(".number").textContent`); !strings.Contains(n, "065.7") {
		t.Errorf("after striking the last out the number shown is %q", n)
	}
	if px := ask[float64](b, `parseFloat(getComputedStyle(document.querySelector(".number")).fontSize)`); px < 96 {
		t.Errorf("the number stands %g px high, want 96 at least", px)
	}
	b.do(chromedp.KeyEvent("12 bananas\r"))
	b.until(`document.querySelector(".wrong")`)
	if v := ask[string](b, `document.querySelector("input[name=reading]").value`); v != "12 bananas" {
		t.Errorf("what was refused is not there to be put right: %q", v)
	}
	where := ask[string](b, "location.pathname")
	b.serve() // the program is started anew
	b.visit(where)
	if n := ask[int](b, `document.querySelectorAll(".tape li").length`); n != 3 {
		t.Errorf("after a fresh start %d readings, want 3", n)
	}
	if picture := ask[bool](b, `!!document.querySelector("svg.chart circle, svg.chart path")`); !picture {
		t.Error("the picture does not grow")
	}
	b.do(chromedp.Click(chromedp.CSS("form[action$='/finish'] button")))
	b.until(`location.pathname.startsWith("/runs/")`)
	if text := ask[string](b, `document.body.innerText`); !strings.Contains(text, "reading 3 struck out") && !strings.Contains(text, "Reading 3 struck out") {
		t.Errorf("the run does not say what was struck out: %s", text)
	}
}

// A file dropped on the field is sent at once; one that is no log says so where
// it was dropped, and the form is there again.
func TestAFileIsDropped(t *testing.T) {
	b := open(t)
	b.takeIn("Whimbrel")
	drop := func(name, data string) {
		ask[bool](b, `(() => { const d = new DataTransfer(); d.items.add(new File([`+"`"+data+"`"+`], "`+name+`"));
			document.querySelector(".drop").dispatchEvent(new DragEvent("drop", {dataTransfer: d, bubbles: true, cancelable: true})); return true })()`)
	}
	b.visit("/import")
	drop("empty.csv", "")
	b.until(`/empty/.test(document.querySelector(".going [role=status]").textContent) && !document.querySelector("form").hidden`)
	drop("log.csv", "time (s),frequency (Hz)\\n0,7065100\\n60,7065050\\n120,7065030\\n")
	b.until(`location.pathname === "/import/preview" && document.querySelector("button[formaction='/import/store']")`)
}
