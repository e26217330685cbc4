# A thin layer over Meson: every target here is one or two commands you could type yourself.
BUILD ?= build
JOBS ?= $(shell nproc)

.PHONY: help setup build demo check asan valgrind fuzz soak desk-soak book-soak class-soak school-hour school-round school-soak bench gallery \
	format format-check floors install clean

help:
	@echo 'make demo         install what is missing, build, and run the main job on a lesson'
	@echo 'make check        install what is missing, build, and run all tests'
	@echo 'make asan         the tests once more under the address and undefined-behaviour sanitizers'
	@echo 'make valgrind     the core tests once more under valgrind'
	@echo 'make fuzz         a short run of the fuzz targets; make soak: a long one'
	@echo 'make desk-soak    random requests at the desk under the sanitizers, ten minutes or SECONDS='
	@echo 'make book-soak    a desk killed 100 times (ROUNDS=) while a class is at work; a full disk'
	@echo 'make class-soak   a class of 30 over 12 weeks, or LEARNERS= and WEEKS='
	@echo 'make school-soak  two desks, four workers, one database: killed and cut off for ten minutes'
	@echo 'make school-hour  3,000 learners hand in within an hour, or LEARNERS= and SECONDS=; both databases'
	@echo 'make school-round recitations of MISTARA_AUDIO by 3,000 learners within an hour, listened to beside'
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

class-soak: build
	MISTARA_BUILD_ROOT=$(BUILD) MISTARA_SOURCE_ROOT=. MISTARA_TEXT=$(BUILD)/data/mistara.text \
		node tests/server/weeks.mjs $(or $(LEARNERS),30) $(or $(WEEKS),12)

# Killing a desk at moments of chance while a class is at work, and filling its disk.
book-soak: build
	ROUNDS=$(or $(ROUNDS),100) SEED=$(or $(SEED),$(shell date +%s)) meson test -C $(BUILD) --no-rebuild \
		--verbose --timeout-multiplier 0 server-durable server-full-disk

# Killing and cutting off at random: two desks, four workers, one database.
school-soak: build
	MISTARA_BUILD_ROOT=$(abspath $(BUILD)) MISTARA_SOURCE_ROOT=$(CURDIR) MISTARA_TEXT=$(abspath $(BUILD))/data/mistara.text \
		SEED=$(or $(SEED),$(shell date +%s)) sh tests/server/school_net.sh tests/store/with_postgresql.sh \
		node tests/server/school.mjs $(or $(SECONDS),600)

# 3,000 learners hand in within an hour, or LEARNERS= within SECONDS=: once in SQLite, once in PostgreSQL.
school-hour: build
	for database in "" "sh tests/store/with_postgresql.sh --run"; do \
		MISTARA_TEST_FSYNC=on MISTARA_BUILD_ROOT=$(abspath $(BUILD)) MISTARA_SOURCE_ROOT=$(CURDIR) \
		MISTARA_TEXT=$(abspath $(BUILD))/data/mistara.text $$database node tests/server/school_hour.mjs \
		$(or $(LEARNERS),3000) $(or $(SECONDS),3600) || exit 1; done

# 3,000 learners hand in altered recitations (MISTARA_AUDIO) within an hour; what is told of them in the end.
school-round: build
	MISTARA_TEST_FSYNC=on MISTARA_BUILD_ROOT=$(abspath $(BUILD)) MISTARA_SOURCE_ROOT=$(CURDIR) \
		MISTARA_TEXT=$(abspath $(BUILD))/data/mistara.text sh tests/store/with_postgresql.sh --run \
		node tests/server/school_round.mjs $(or $(LEARNERS),3000) $(or $(SECONDS),3600)

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
