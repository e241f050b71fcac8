"""The general tool's side of workload P8: Python's sqlite3, a row a reading, with
the same durability (write-ahead log, synchronous=FULL).

    sqlite.py insert FILE DB    one transaction
    sqlite.py live FILE DB      1000 transactions
    sqlite.py read DB           reads all rows back; prints how many

FILE holds N times, then N frequencies, float64, little-endian. The table has
the two columns and nothing else, which is the least it can do.
"""
import array
import hashlib
import os
import sqlite3
import sys

TRANSACTIONS = 1000


def load(file):
    values = array.array("d")
    with open(file, "rb") as f:
        values.fromfile(f, os.path.getsize(file) // 8)
    n = len(values) // 2
    return values[:n], values[n:]


def connect(path):
    db = sqlite3.connect(path, isolation_level=None)
    db.execute("PRAGMA journal_mode=WAL")
    db.execute("PRAGMA synchronous=FULL")
    return db


def insert(file, path, transactions):
    time, frequency = load(file)
    db = connect(path)
    db.execute("CREATE TABLE readings (time REAL NOT NULL, frequency REAL NOT NULL)")
    step = len(time) // transactions
    for i in range(0, len(time) - step + 1, step):
        db.execute("BEGIN IMMEDIATE")
        db.executemany("INSERT INTO readings VALUES (?, ?)", zip(time[i:i + step], frequency[i:i + step]))
        db.execute("COMMIT")
    db.close()
    size = os.path.getsize(path)
    print(f"{size} bytes, {size / len(time):.2f} a reading")


def read(path):
    db = connect(path)
    rows = db.execute("SELECT time, frequency FROM readings ORDER BY rowid").fetchall()
    print(len(rows), "readings")
    if os.environ.get("DIGEST"):  # to compare with the other side; not timed
        for name, column in zip(("time", "frequency"), zip(*rows)):
            print(name, hashlib.sha256(array.array("d", column).tobytes()).hexdigest())
    db.close()


if sys.argv[1] == "read":
    read(sys.argv[2])
else:
    insert(sys.argv[2], sys.argv[3], TRANSACTIONS if sys.argv[1] == "live" else 1)
