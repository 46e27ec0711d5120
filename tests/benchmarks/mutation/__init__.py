"""Which small breaks of the program does the suite not see? `python -m tests.benchmarks.mutation` asks, and tells it in a report.

    mutants.py   a mutant: one file with one place changed, and what it is known by; those of the code
    cells.py     those of the tables
    reach.py     which tests reach a statement or read a cell: every test once, in a process of its own
    judge.py     a verdict: the tests that reach the place, the likeliest first, up to the first that fails
    bench.py     who judges a mutant, in which order, and the verdicts so far
    report.py    survivors by file and rule, beside what `../survivors.toml` says of each
"""
