"""Keys that stood before, held against a plain count of all of them."""

from collections import Counter

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from scrapes.cameras.observation_rows import Account, RowFaults
from scrapes.cameras.seen_keys import SeenKeys, hashed, mark_seen

BATCHES = st.lists(st.lists(st.integers(-5, 20), max_size=12), max_size=20)


@given(BATCHES, st.sampled_from([1, 4, 10_000]))
def test_every_key_is_counted_as_often_as_it_was_added(batches, in_memory):
    seen, plain = SeenKeys(in_memory=in_memory), Counter()

    for batch in batches:
        keys = np.array(batch, dtype=np.int64)
        assert seen.counts(keys).tolist() == [plain[key] for key in batch]
        seen.add(keys)
        plain.update(batch)


@given(st.lists(st.lists(st.sampled_from("abcdefgh"), max_size=6), max_size=8))
def test_an_id_is_taken_once_over_all_batches(batches):
    seen, known = SeenKeys(in_memory=4), set()

    for ids in batches:
        faults = RowFaults(np.arange(len(ids)), Account("observations", lines_listed=9))
        mark_seen(faults, ids, seen)
        expected = [one not in known and one not in ids[:row] for row, one in enumerate(ids)]
        assert faults.sound.tolist() == expected
        known.update(ids)


def test_a_faulty_row_does_not_bar_its_corrected_twin():
    faults = RowFaults(np.arange(3), Account("observations", lines_listed=9))
    faults.sound[0] = False

    mark_seen(faults, ["a", "a", "a"], SeenKeys())

    assert faults.sound.tolist() == [False, True, False]


def test_a_key_has_one_hash():
    assert hashed(["oak", "elm"]).tolist() == hashed(["oak", "elm"]).tolist()
    assert len(set(hashed([str(number) for number in range(10_000)]).tolist())) == 10_000
