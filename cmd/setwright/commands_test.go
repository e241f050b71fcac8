package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestWrongCommands are typed wrongly whatever the data are: exit status 2, one
// message that says what was expected, and no book is made.
func TestWrongCommands(t *testing.T) {
	dir := t.TempDir()
	log := writeFile(t, dir, "log.csv", "t_s,f_hz\n0,7065300\n60,7065400\n120,7065450\n")
	book := filepath.Join(dir, "book")
	for _, c := range []struct{ command, want string }{
		{"frobnicate", `unknown command "frobnicate"`},
		{"analyse", "expected a kind of measurement and files, for example"},
		{"analyse tides LOG", `"tides" is no kind of measurement`},
		{"analyse drift", "analyse drift: found no argument, expected setwright analyse drift FILE..."},
		{"analyse drift LOG --frob", "unknown flag: --frob"},
		{"analyse drift LOG -z", "unknown shorthand flag: 'z' in -z"},
		{"analyse drift LOG --json=maybe", `invalid argument "maybe" for "--json" flag, expected true or false, or nothing after it`},
		{"analyse drift LOG --horizon", "flag needs an argument: --horizon"},
		{"analyse drift LOG --horizon soon", `--horizon: found "soon", expected a number, for example "14m20s"`},
		{"analyse drift LOG --horizon=-5min", `--horizon: found "-5min", expected more than zero`},
		{"analyse drift LOG --bands 100,0", `--bands: found "0", expected more than zero, for example "200 Hz, 50 Hz"`},
		{"analyse drift LOG --power-on yesterday", `--power-on: found "yesterday", expected a number`},
		{"analyse drift LOG --oscillator moon", `--oscillator: found "moon", expected one of local, bfo, set`},
		{"analyse drift LOG --allan total,best", `--allan: found "best", expected some of plain, overlapping,`},
		{"analyse drift LOG --column 2", `--column "2": expected NUMBER=ROLE or NUMBER=ROLE:UNIT, as in 2=frequency:kHz`},
		{"analyse drift LOG --column 2=zebra", `column 2: there is no role "zebra" here; expected one of`},
		{"analyse drift LOG --column 2=frequency:furlong", `there is no unit "furlong"`},
		{"analyse drift LOG --column 2=frequency:V", `cannot be in "V"`},
		{"analyse drift LOG --separator banana", `--separator "banana": expected one of comma,`},
		{"analyse drift LOG --decimal dash", `--decimal "dash": expected one of point, comma`},
		{"analyse drift LOG --skip few", `--skip "few": expected a number of lines`},
		{"analyse drift LOG --encoding morse", `--encoding "morse": expected one of utf-8,`},
		{"analyse drift LOG --plot picture.bmp", "must end in .svg, .png or .pdf"},
		{"analyse drift LOG --plot nowhere/p.svg", "--plot nowhere/p.svg: there is no folder nowhere; make it first, or name another"},
		{"analyse drift LOG LOG --plot p.svg", "put a % in the name"},
		{"analyse drift LOG LOG --plot %.svg", "would both be log.svg"},
		{"set", "set: expected one of add, changes, list, show after it"},
		{"set polish", `set: found "polish", expected one of add,`},
		{"set add", "set add: found no argument, expected setwright set add NAME"},
		{"set add T --if high", `--if: found "high", expected a number`},
		{"set add T --band D=3MHz", `band "D=3MHz": expected NAME = LOW .. HIGH`},
		{"set add T --band D=9MHz..3MHz", "its low end is not below its high end"},
		{"set add T --stage V3", `stage "V3": expected POSITION = DUTY = VALVE`},
		{"set add T --found 2024-13-45", `date "2024-13-45": expected year, month and day`},
		{"run import turnstone", `run import: found one argument, "turnstone", expected setwright run import STATE FILE...`},
		{"run import turnstone LOG --started noon", `date "noon": expected`},
		{"run import turnstone LOG --bands=-5", "--bands: found"},
		{"run type turnstone --unit furlong", `--unit "furlong": expected the unit of the readings, for example kHz`},
		{"run amend r frob x --reason why", `expected strike, restore, scale, option, label, leave, take or note, found "frob"`},
		{"run amend r strike first --reason why", `strike "first": expected the number of a reading, from 1`},
		{"run amend r strike 0 --reason why", `strike "0": expected`},
		{"run amend r strike 1", "run amend: say why with --reason"},
		{"run amend r scale frequency --reason why", "scale: expected --factor with a number"},
		{"run amend r option bands --reason why", `option "bands": expected NAME=VALUE`},
		{"compare a", `compare: found one argument, "a", expected setwright compare A B`},
		{"compare a b c", "compare: found 3 arguments, expected setwright compare A B"},
		{"compare a b --option bands", `--option "bands": expected NAME=VALUE`},
		{"compare a b --measurement tides", `no measurement "tides"`},
		{"claim", "claim: found no argument, expected setwright claim MODIFICATION"},
		{"claim plan c --swap magic", `--swap "magic": expected switch, soldering or "one way"`},
		{"claim plan c --per-day none", `invalid argument "none" for "--per-day" flag, expected a whole number`},
		{"claim plan c --per-day 0", "--per-day 0: expected one run a day at least"},
		{"bench add counter --relative lots", `--relative: found "lots", expected a number`},
		{"bench card tides", `no measurement "tides"`},
		{"serve --address 0.0.0.0:4740", "is not this computer's own"},
		{"serve --address 4740", `address "4740": expected HOST:PORT`},
		{"serve now", `serve: found one argument, "now", expected setwright serve`},
		{"demo now", `demo: found one argument, "now", expected setwright demo`},
	} {
		t.Run(c.command, func(t *testing.T) {
			args := strings.Fields(strings.ReplaceAll(c.command, "LOG", log))
			s := typed(t, "", append([]string{"--book", book}, args...)...)
			if s.status != exitUsage || !strings.Contains(s.err, c.want) {
				t.Errorf("status %d, said %swant %s", s.status, s.err, c.want)
			}
			checkMessage(t, s)
			if _, err := os.Stat(book); err == nil {
				t.Fatal("a book was made")
			}
		})
	}
}

// TestWhatTheBookDoesNotHold is no fault of the command: exit status 1, and the
// message says what there is.
func TestWhatTheBookDoesNotHold(t *testing.T) {
	book, dir := bookOfOne(t), t.TempDir()
	log := writeFile(t, dir, "log.csv", "t_s,f_hz\n0,7065300\n60,7065400\n120,7065450\n")
	done(t, "run", "import", "turnstone", log, "--book", book)
	before := keptIn(t, book)
	nothing := `nothing in the book is called "whimbrel"; there are turnstone, turnstone/as-found`
	for _, c := range []struct{ command, want string }{
		{"set show whimbrel", nothing},
		{"state add whimbrel", nothing},
		{"state configure whimbrel fitted", nothing},
		{"modification add whimbrel pair", nothing},
		{"run import whimbrel LOG", nothing},
		{"run type whimbrel", nothing},
		{"compare turnstone whimbrel", nothing},
		{"report whimbrel", nothing},
		{"bench card drift --state whimbrel", nothing},
		{"run show r9", `there is no run "r9" in this book`},
		{"run raw r9", `there is no run "r9" in this book`},
		{"run amend r9 strike 1 --reason why", `there is no run "r9" in this book`},
		{"claim pair", `no modification is called "pair"`},
		{"claim plan pair", `no modification is called "pair"`},
		{"run import turnstone LOG --instrument counter", `no instrument "counter" on the bench; there are: none yet`},
		{"run import turnstone LOG --column 9=frequency", "found 2 columns, expected a column 9, as you said"},
	} {
		t.Run(c.command, func(t *testing.T) {
			args := strings.Fields(strings.ReplaceAll(c.command, "LOG", log))
			s := typed(t, "", append(args, "--book", book)...)
			if s.status != exitData || !strings.Contains(s.err, c.want) {
				t.Errorf("status %d, said %swant %s", s.status, s.err, c.want)
			}
			checkMessage(t, s)
		})
	}
	if after := keptIn(t, book); after != before {
		t.Errorf("the book holds %+v, before %+v", after, before)
	}
	s := typed(t, "", "set", "list", "--book", filepath.Join(dir, "none"))
	if s.status != exitData || !strings.Contains(s.err, "there is no book in ") || !strings.Contains(s.err, "name one with --book, or begin one with") {
		t.Errorf("status %d, said %s", s.status, s.err)
	}
	for _, wrong := range []string{"--figure nix", "--option nix=1", "--option bands=-1"} {
		args := append([]string{"compare", "turnstone", "turnstone", "--book", book}, strings.Fields(wrong)...)
		if s := typed(t, "", args...); s.status != exitUsage || !strings.Contains(s.err, "expected") && !strings.Contains(s.err, "no such option") {
			t.Errorf("%s: status %d, said %s", wrong, s.status, s.err)
		}
	}
}
