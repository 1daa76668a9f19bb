# Two commands matter: `make demo` and `make test`. Each does all its own set-up.
PY := .venv/bin/python
DEMO := STAIRHEAD_DATA=var/demo $(PY) manage.py

.PHONY: demo test lint bench lock serve clean

demo: .venv/ready          ## one invented job from order to paid, then the pages (ARGS=--no-serve ends after the job)
	$(DEMO) demo $(ARGS)

test: .venv/ready-to-test  ## every test, with real PostgreSQL, a real Redis-protocol server and a real Chromium
	$(PY) tools/run_tests.py $(ARGS)

lint: .venv/ready-to-test
	.venv/bin/ruff check .
	.venv/bin/ruff format --check .
	.venv/bin/mypy
	.venv/bin/lint-imports
	.venv/bin/djlint templates --lint --quiet

bench: .venv/ready-to-test ## measurements, as ratios to a peer in the same run
	$(PY) -m tests.bench

serve: .venv/ready         ## your own office on this machine, in var/laptop
	$(PY) manage.py migrate --verbosity 0
	$(PY) manage.py serve $(ARGS)

lock:                      ## pin requirements.txt and requirements-test.txt anew
	.venv/bin/uv pip compile --quiet --upgrade --python-version 3.11 --generate-hashes requirements.in -o requirements.txt
	.venv/bin/uv pip compile --quiet --upgrade --python-version 3.11 --generate-hashes requirements-test.in -o requirements-test.txt

.venv/ready: requirements.txt tools/set_up.sh
	sh tools/set_up.sh requirements.txt
	touch $@

.venv/ready-to-test: requirements-test.txt tools/set_up.sh
	sh tools/set_up.sh requirements-test.txt
	sh tools/get_chromium.sh
	touch .venv/ready $@

clean:
	rm -rf .venv var .pytest_cache .mypy_cache .ruff_cache .hypothesis
