# Setwright. `make demo` shows what it does; `make test` checks everything.
GO ?= go
export CGO_ENABLED = 0

.PHONY: all build demo test check generate lint unit browser bench check-coverage cross clean

all: build

build:
	$(GO) build -trimpath -o setwright ./cmd/setwright

# The invented scenario from start to finish, then the pages. ARGS=--no-pages
# ends after the story.
demo: build
	./setwright demo $(ARGS)

test: lint check unit browser

# What the generators write is committed; making it again must change nothing.
check: generate
	@git diff --exit-code --stat -- internal/web/assets || { echo "internal/web/assets is out of date: run make generate and commit"; exit 1; }

generate:
	cd tools && $(GO) build -o ../node_modules/.cache/bundle ./bundle
	./node_modules/.cache/bundle

lint: node_modules
	@test -z "$$(gofmt -l $$(git ls-files '*.go'))" || { echo "gofmt wants to change:"; gofmt -l $$(git ls-files '*.go'); exit 1; }
	$(GO) vet ./...
	cd tools && $(GO) build -o ../node_modules/.cache/staticcheck honnef.co/go/tools/cmd/staticcheck
	./node_modules/.cache/staticcheck ./...
	./node_modules/.bin/tsc

# The arrows look at the whole tree, which the test cache cannot see.
unit:
	$(GO) test -count=1 .
	$(GO) test $$($(GO) list ./... | grep -v -x setwright)

# The pages in a real browser; installs Chromium if it is missing.
browser: chromium node_modules
	SETWRIGHT_BROWSER=1 $(GO) test -count=1 -tags browser ./internal/web/browsertest/...

.PHONY: chromium
chromium:
	@command -v chromium >/dev/null || { apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq chromium; }

node_modules: package.json package-lock.json
	npm ci --no-audit --no-fund
	@mkdir -p node_modules/.cache && touch node_modules

# The pictures of the README, from the invented scenario.
.PHONY: pictures
pictures: chromium
	SETWRIGHT_PICTURES=$(CURDIR)/docs/pictures $(GO) test -count=1 -tags browser -run TestReadmePictures ./internal/web/browsertest

# Ratios against general tools, side by side in one run; see bench/README.md.
bench: build
	./bench/run

# The coverage simulations of the stated uncertainties in full.
check-coverage:
	SETWRIGHT_COVERAGE=full $(GO) test -count=1 -timeout 60m -run 'Coverage|DayLong' -v ./stability ./judge ./signal ./internal/measure/...

# The binary for the systems it is meant for.
cross:
	GOOS=linux GOARCH=amd64 $(GO) build -trimpath -o /dev/null ./cmd/setwright
	GOOS=linux GOARCH=arm64 $(GO) build -trimpath -o /dev/null ./cmd/setwright
	GOOS=windows GOARCH=amd64 $(GO) build -trimpath -o /dev/null ./cmd/setwright
	GOOS=darwin GOARCH=arm64 $(GO) build -trimpath -o /dev/null ./cmd/setwright

clean:
	rm -rf setwright bench-out
