"""Writes kbtools/search/english.txt: how common English words are.

Needs `pip install wordfreq` (its data: CC BY-SA 4.0), which nothing else here needs. Run it once, when the table is to grow:
python benchmarks/english_words.py > kbtools/search/english.txt
"""

from __future__ import annotations

import re
from collections import defaultdict

import wordfreq

WORDS = 20_000
HEADER = """\
# How common English words are: one line for each Zipf frequency (log10 of uses in 10^9 words), then the words that have it.
# Derived from wordfreq 3.1 by Robyn Speer, https://github.com/rspeer/wordfreq (top 20,000 English words, rounded to 0.1).
# This file is under the licence of that data: Creative Commons Attribution-ShareAlike 4.0,
# https://creativecommons.org/licenses/by-sa/4.0/"""


def main() -> None:
    rows: dict[str, list[str]] = defaultdict(list)
    for word in wordfreq.top_n_list("en", WORDS):
        if re.fullmatch("[a-z]+", word):
            rows[f"{wordfreq.zipf_frequency(word, 'en'):.1f}"].append(word)
    print(HEADER)
    for zipf in sorted(rows, key=float, reverse=True):
        print(zipf, *rows[zipf])


if __name__ == "__main__":
    main()
