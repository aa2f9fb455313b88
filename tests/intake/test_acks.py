"""What devices are told."""

import json

from holdwatch.intake.acks import Acks


def test_acks_name_instants_and_count_the_rest() -> None:
    """Each probe is told on its own topic: instants in seconds, whole where they are, each once."""
    acks = Acks()
    for at_ms in (1_767_225_600_250, 1_767_225_600_000, 1_767_225_600_000):
        acks.add("p1", at_ms)
    acks.add("p1", None)
    acks.add("p2", None)
    acks.add("p2", None)
    assert acks.messages() == [
        ("ack/p1", b'{"t":[1767225600,1767225600.25],"n":1}'),
        ("ack/p2", b'{"n":2}'),
    ]


def test_acks_of_a_whole_outbox_are_split() -> None:
    """A device with a small buffer gets at most a thousand instants a message."""
    acks = Acks()
    for second in range(2_500):
        acks.add("p1", second * 1_000)
    told = [json.loads(payload)["t"] for _, payload in acks.messages()]
    assert [len(each) for each in told] == [1_000, 1_000, 500]
    assert [second for each in told for second in each] == list(range(2_500))


def test_acks_of_nothing_are_none() -> None:
    """A group without a word of a probe tells nobody."""
    assert Acks().messages() == []
