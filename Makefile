# make run      build what is needed and serve the app on http://localhost:8787/
# make build    leave the program 'needlesight' here, and the built app in pwa/dist
# make test     install what the tests need (on Debian) and run everything
# make soak     what takes long: kill -9 by the hundred, simulated networks by the ten thousand
# make vuln     ask the Go vulnerability database about the libraries (wants a network)
# make bench    print the figures that the budgets are about
# make shots    make the pictures of the README again
# make icons    make the PNGs of the app's icon from its drawing
# make release  one program each for Linux, macOS and Windows, in release/
# make clean    take away everything that was built

VERSION := $(shell git describe --tags --always --dirty 2>/dev/null)
LINK    := -s -w -X main.version=$(VERSION)
GOBUILD := CGO_ENABLED=0 go build -trimpath -ldflags '$(LINK)'
TARGETS := linux/amd64 linux/arm64 darwin/amd64 darwin/arm64 windows/amd64 windows/arm64

.PHONY: run build app test tools check unit e2e soak vuln bench shots icons release clean
.DEFAULT_GOAL := build

run: build
	./needlesight serve

build: app
	$(GOBUILD) -o needlesight .

app: pwa/node_modules/.package-lock.json
	go run ./pwa/build -strict

# The libraries of the screens, exactly as the lock file names them.
pwa/node_modules/.package-lock.json: pwa/package-lock.json
	@.ci/need go npm
	cd pwa && npm ci --no-fund --no-audit
	@touch $@

# In this order: what is quick to be wrong comes first.
test: tools
	@$(MAKE) --no-print-directory check build unit e2e

tools:
	@.ci/need --install

check: pwa/node_modules/.package-lock.json
	@echo '== gofmt, vet, staticcheck'
	@bad=$$(gofmt -l *.go server sync data pwa/*.go pwa/build pwa/engine pwa/test); if [ -n "$$bad" ]; then echo "gofmt would change:"; echo "$$bad"; exit 1; fi
	go vet ./...
	GOOS=js GOARCH=wasm go vet ./pwa/engine/wasm/...
	go tool staticcheck ./...
	GOOS=js GOARCH=wasm $$(go tool -n staticcheck) ./pwa/engine/wasm/...

unit:
	@echo '== the types of the screens'
	cd pwa && node_modules/.bin/tsc -p .
	@echo '== Go: engine, data, sync, server, build, fences'
	go test ./...
	@echo '== JavaScript: bench, screens, fences; the engine in wasm'
	node --test $$(find pwa/test/unit pwa/test/fences -name '*.test.mjs' | sort)

e2e:
	@echo '== whom a browser trusts'
	go test -tags browser ./server/trust
	@echo '== a person before a browser'
	node --test --test-concurrency=1 $$(find pwa/test/e2e -name '*.test.mjs' | sort)

# Wants the Go vulnerability database, so the network.
vuln:
	go run golang.org/x/vuln/cmd/govulncheck@latest ./...

soak:
	NEEDLESIGHT_KILLS=200 NEEDLESIGHT_RESTORE_KILLS=200 go test -count=1 -timeout 30m ./data/store ./server
	go test -count=1 -timeout 30m ./sync/peer -runs 60000

bench: tools pwa/node_modules/.package-lock.json
	go run ./pwa/build -release
	$(GOBUILD) -o needlesight .
	go test -run '^$$' -bench . -benchmem ./pwa/engine/... ./sync/wire ./data/store
	go test -run '^$$' -bench . -benchtime 1x ./server
	node pwa/test/bench/run.mjs

shots: tools build
	node pwa/test/shots/run.mjs

icons:
	node pwa/build/icons.mjs

release: pwa/node_modules/.package-lock.json
	go run ./pwa/build -release
	@mkdir -p release
	@for target in $(TARGETS); do \
		os=$${target%/*}; arch=$${target#*/}; ending=; [ $$os = windows ] && ending=.exe; \
		name=release/needlesight-$$os-$$arch$$ending; \
		GOOS=$$os GOARCH=$$arch $(GOBUILD) -o $$name . || exit 1; ls -sh $$name; \
	done

clean:
	rm -rf needlesight release pwa/app/types pwa/node_modules
	find pwa/dist -mindepth 1 ! -name .keep -delete
