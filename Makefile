# `make demo` and `make test` do all their own set-up; the rest is for developers.
# Plain GNU make 3.81, the one that macOS ships, is enough.

SWIMMER    = presets/swimmers/adult-learner.toml
PRESET     = try-both-pairings
FUZZ_CASES = 10000000
# The seed of what the tests draw: a change is judged by the same cases as the one before it. The soak
# draws anew, and more.
SEED       = 1
DRAWN      = 10000
# Tests that listen wait for most of their time: all of them at once are little work.
LISTENERS  = 16
# Tests with a browser wait as well: some more than there are cores.
TESTERS    = 4

# `cargo run` finds the binary wherever the target folder is, and whatever its ending.
CUELANE = cargo run --release --locked --quiet --

# Windows brings no sh of its own, and every recipe here needs one.
ifeq ($(OS),Windows_NT)
ifneq ($(shell sh -c "echo yes"),yes)
$(error On Windows run make in the UCRT64 shell of MSYS2, or in another shell that has sh)
endif
endif

.PHONY: help demo package test pictures fuzz soak bench clean

help:
	@echo "make demo    tracks for an invented swimmer in the folder demo, made and checked"
	@echo "make package a .deb and a .tar.gz in target/package, to install without a toolchain"
	@echo "make test    format, lints and every test; six minutes at most"
	@echo "make pictures  the pictures of the pages, drawn anew into docs/pictures"
	@echo "make fuzz    $(FUZZ_CASES) seeded cases against every parser"
	@echo "make soak    the long tests"
	@echo "make bench   speed, measured"
	@echo "make clean   removes what was built, and the folder demo"

demo:
	@sh .ci/setup build
	@cargo build --release --locked
	@rm -f demo/*.wav demo/contents.txt
	@$(CUELANE) export $(PRESET) --swimmer $(SWIMMER) --out demo --force
	@$(CUELANE) check demo $(PRESET) --swimmer $(SWIMMER)

test:
	@sh .ci/setup test
	@echo "== format"
	@cargo fmt --check
	@echo "== lints, with the sound device and MP3, without both, and a build without MP3 alone"
	@cargo clippy --quiet --all-targets --locked -- -D warnings
	@cargo clippy --quiet --all-targets --locked --no-default-features -- -D warnings
	@cargo check --quiet --locked --no-default-features --features live
	@echo "== documentation: no link leads nowhere"
	@RUSTDOCFLAGS="-D warnings" cargo doc --quiet --no-deps --locked --document-private-items
	@echo "== tests"
	@PROPTEST_RNG_SEED=$(SEED) cargo test --quiet --locked --lib --bins --test all -- --test-threads=$(TESTERS)
	@echo "== full disks, no network"
	@for as in "" --map-root-user; do unshare --mount --net $$as true 2>/dev/null && alone="unshare --mount --net $$as" && break; done; \
	if [ "$$alone" ]; then $$alone cargo test --quiet --locked --test all -- --ignored folders:: phone::; \
	else echo "== NOT RUN: this system lets nobody mount a disk or close the network"; fi
	@echo "== the deck, heard"
	@cargo test --quiet --locked --test live -- --test-threads=$(LISTENERS)
	@echo "== all of it holds"

# The deck runs for half a minute in a terminal of its own.
pictures:
	@sh .ci/setup test
	@cargo build --release --locked
	@python3 docs/pictures/draw.py $(subst run,run --manifest-path "$(CURDIR)/Cargo.toml",$(CUELANE))

fuzz:
	@sh .ci/setup build
	CUELANE_FUZZ_CASES=$(FUZZ_CASES) cargo test --release --locked --test all fuzz -- --nocapture

soak:
	@sh .ci/setup test
	cargo test --release --locked --test all soak -- --ignored --nocapture
	@echo "== what the tests draw, drawn anew"
	PROPTEST_CASES=$(DRAWN) cargo test --release --locked --lib
	PROPTEST_CASES=$(DRAWN) cargo test --release --locked --test all -- deck_saved:: pinned:: mutations:: track_names::
	@echo "== the deck: with the checks of a debug build, which let no callback allocate"
	cargo test --locked --test live soak -- --ignored --nocapture --test-threads=$(LISTENERS)
	@echo "== without the sound device and MP3"
	cargo test --locked --no-default-features --lib
	cargo test --locked --no-default-features --test all without_mp3
	@echo "== the package, in a clean root"
	@sh .ci/setup package
	sh .ci/package try

package:
	@sh .ci/setup build
	@sh .ci/package

bench:
	@sh .ci/setup test
	cargo bench --locked

clean:
	cargo clean
	rm -rf demo
