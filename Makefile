# make            everything a change must pass
# make golden     renew what the tests compare with, then look at the difference

GO ?= go
PLATFORMS = linux/amd64 linux/arm64 darwin/amd64 darwin/arm64 windows/amd64 windows/arm64
FUZZTIME ?= 30s
FUZZED ?= ./...
DRAWS ?= 500

.PHONY: all build test check race cover coverage-sim bench fuzz golden readme-picture browsertest dist clean

all: check test

build:
	CGO_ENABLED=0 $(GO) build -trimpath -ldflags '-s -w' -o bin/armcurve ./cmd/armcurve

test:
	$(GO) test ./...

check:
	@unformatted=$$(gofmt -l .); if [ -n "$$unformatted" ]; then echo "gofmt: $$unformatted"; exit 1; fi
	$(GO) vet ./... ./captures/testdata/bench
	$(GO) tool staticcheck ./... ./captures/testdata/bench
	$(GO) mod tidy -diff

# Where goroutines are: files read beside their measuring, channels in step.
race:
	$(GO) test -race -short ./captures ./captures/csvfile ./captures/wavfile ./cmd/internal/...
	$(GO) test -race -run 'TestBumps|TestPieces|TestLent' ./captures/teeth

cover:
	$(GO) test -coverprofile=cover.out -coverpkg=./... ./...
	$(GO) tool cover -func=cover.out | tail -n 1

# The Go benchmarks, then whole runs beside wc -l and a script that does the same
# by pandas and scipy.
# What is promised, held against many simulated sensors and engines, in figures.
coverage-sim:
	$(GO) test ./threshold ./threshold/replay -count 1 -timeout 60m -run 'Promise|BoundBeyond|BoundForOne|BoundAtOther|FollowingNext|KnowingNext' -v -draws $(DRAWS)

bench:
	$(GO) test -run '^$$' -bench . -benchmem ./...
	$(GO) run ./captures/testdata/bench

# Every fuzz target of the packages FUZZED, for FUZZTIME each: a time, or a number
# of inputs such as 20000x (a time can end a run that found nothing as failed).
fuzz:
	@for package in $$($(GO) list $(FUZZED)); do \
		for target in $$($(GO) test -list '^Fuzz' $$package | grep '^Fuzz'); do \
			echo "$$package $$target"; \
			$(GO) test -run '^$$' -fuzz "^$$target\$$" -fuzztime $(FUZZTIME) -fuzzminimizetime 10x $$package || exit 1; \
		done; \
	done

golden: readme-picture
	$(GO) test ./cmd/armcurve -run 'TestScripts|TestReadme' -update

# The picture that the README shows, from the demo.
readme-picture:
	$(GO) test ./cmd/internal/cli -run TestReadmePicture -update

# The pages in a real browser; a module of its own, so that its dependencies are no
# one else's. Without a browser it is skipped, unless CI=true.
browsertest:
	cd cmd/browsertest && $(GO) mod tidy -diff && $(GO) vet ./... && $(GO) test ./...

dist:
	@for platform in $(PLATFORMS); do \
		os=$${platform%/*}; arch=$${platform#*/}; \
		name=dist/armcurve-$$os-$$arch; [ $$os = windows ] && name=$$name.exe; \
		echo $$name; \
		CGO_ENABLED=0 GOOS=$$os GOARCH=$$arch $(GO) build -trimpath -ldflags '-s -w' -o $$name ./cmd/armcurve || exit 1; \
	done

clean:
	rm -rf bin dist cover.out
