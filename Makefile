# A thin layer over Meson: every target here is one or two commands you could type yourself.
BUILD ?= build
JOBS ?= $(shell nproc)

.PHONY: help setup build demo check asan valgrind fuzz soak desk-soak bench gallery format format-check \
	floors install clean

help:
	@echo 'make demo         install what is missing, build, and run the main job on a lesson'
	@echo 'make check        install what is missing, build, and run all tests'
	@echo 'make asan         the tests once more under the address and undefined-behaviour sanitizers'
	@echo 'make valgrind     the core tests once more under valgrind'
	@echo 'make fuzz         a short run of the fuzz targets; make soak: a long one'
	@echo 'make desk-soak    random requests at the desk under the sanitizers, ten minutes or SECONDS='
	@echo 'make bench        the benchmarks; make gallery: the sample pages of docs/gallery'
	@echo 'make format       clang-format over everything; make format-check: only look'
	@echo 'make floors       do the floors only look down?'

setup:
	@sh tools/setup.sh

$(BUILD)/build.ninja: | setup
	meson setup $(BUILD) >$(BUILD).setup.log || { cat $(BUILD).setup.log; exit 1; }
	@rm -f $(BUILD).setup.log

build: setup $(BUILD)/build.ninja
	@ninja -C $(BUILD) -j$(JOBS) --quiet

demo: build
	@BUILD=$(BUILD) sh tools/demo.sh

check: build
	meson test -C $(BUILD) --no-rebuild --print-errorlogs --num-processes $(JOBS)

build-asan/build.ninja: | setup
	meson setup build-asan -Db_sanitize=address,undefined -Db_lundef=false >/dev/null

asan: setup build-asan/build.ninja
	@ninja -C build-asan -j$(JOBS) --quiet
	meson test -C build-asan --no-rebuild --print-errorlogs --num-processes $(JOBS) \
		--no-suite slow --no-suite bench --timeout-multiplier 5

valgrind: build
	meson test -C $(BUILD) --no-rebuild --print-errorlogs --num-processes $(JOBS) --suite core \
		--timeout-multiplier 20 --logbase valgrind \
		--wrapper 'valgrind --quiet --error-exitcode=99 --leak-check=full --errors-for-leak-kinds=definite'

# Mutations per target: a minute or so, and as long as you have patience for.
fuzz: build
	@BUILD=$(BUILD) sh tools/fuzz.sh 20000
soak: build
	@BUILD=$(BUILD) sh tools/fuzz.sh $(or $(ITERATIONS),2000000)

desk-soak: setup build-asan/build.ninja
	@ninja -C build-asan -j$(JOBS) --quiet
	FUZZ_SECONDS=$(or $(SECONDS),600) SEED=$(or $(SEED),$(shell date +%s)) meson test -C build-asan \
		--no-rebuild --verbose --timeout-multiplier 0 server-fuzz

bench: build
	meson test -C $(BUILD) --benchmark --verbose

gallery: build
	@BUILD=$(BUILD) sh tools/gallery.sh

sources = $(shell git ls-files '*.c' '*.h')
format:
	clang-format-14 -i $(sources)
format-check:
	@clang-format-14 --dry-run --Werror $(sources)

floors: build
	@$(BUILD)/tools/floors/floors .

install: build
	meson install -C $(BUILD) --no-rebuild

clean:
	rm -rf $(BUILD) build-asan
