"""Readers and reckoners of another make, for tests/session_verbs.rs and tests/export_parquet.rs. Standard library
only, but for the two of Parquet, which need the package duckdb.

    csv FILE     the sums of a table of comma-separated values, by Python's own csv reader
    json FILE    the same of a file with one JSON object a line
    parquet FILE the same of a Parquet file, by DuckDB
    parquet-columns FILE  name, type and what the file says of each of its columns, by DuckDB
    fisher A B C D ...   Fisher's exact test of each table (hits A of B, hits C of D), in exact fractions
"""

import csv
import json
import sys
from fractions import Fraction
from math import comb


def sums(rows):
    """How many rows, and of each numeric column how many values and their sum; of others how many values."""
    count, columns = 0, {}
    for row in rows:
        count += 1
        for name, value in row.items():
            if value is None or value == "":
                continue
            entry = columns.setdefault(name, [0, 0.0])
            entry[0] += 1
            try:
                entry[1] += float(value)
            except (TypeError, ValueError):
                entry[1] += len(value)
    return {"rows": count, "columns": {name: columns[name] for name in sorted(columns)}}


def parquet_rows(path):
    import duckdb

    table = duckdb.execute("SELECT * FROM read_parquet(?)", [path])
    names = [column[0] for column in table.description]
    return [dict(zip(names, row)) for row in table.fetchall()]


def parquet_columns(path):
    import duckdb

    columns = duckdb.execute("DESCRIBE SELECT * FROM read_parquet(?)", [path]).fetchall()
    told = duckdb.execute("SELECT key, value FROM parquet_kv_metadata(?)", [path]).fetchall()
    told = {key.decode(): value.decode() for key, value in told}
    return [[name, sort, told["wheeltap.column." + name]] for name, sort, *_ in columns]


def fisher(hits, all_):
    of_sort, total = sum(hits), sum(all_)
    def ways(first):
        return comb(all_[0], first) * comb(all_[1], of_sort - first)
    seen = ways(hits[0])
    low, high = max(0, of_sort - all_[1]), min(of_sort, all_[0])
    return Fraction(sum(w for w in map(ways, range(low, high + 1)) if w <= seen), comb(total, of_sort))


if __name__ == "__main__":
    what, words = sys.argv[1], sys.argv[2:]
    if what == "csv":
        with open(words[0], newline="", encoding="utf-8") as file:
            print(json.dumps(sums(csv.DictReader(file))))
    elif what == "json":
        with open(words[0], encoding="utf-8") as file:
            print(json.dumps(sums(map(json.loads, file))))
    elif what == "parquet":
        print(json.dumps(sums(parquet_rows(words[0]))))
    elif what == "parquet-columns":
        print(json.dumps(parquet_columns(words[0])))
    elif what == "fisher":
        numbers = list(map(int, words))
        for at in range(0, len(numbers), 4):
            a, b, c, d = numbers[at : at + 4]
            print(float(fisher((a, c), (b, d))))
