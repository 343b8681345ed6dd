"""What ``verify`` finds, in words."""

from fraginv.base.rules.differences import Difference


def test_a_difference_reads_as_a_sentence() -> None:
    found = Difference(where="frag 7K3-Q9F-N", what="free is 3, its claims leave 2")
    assert str(found) == "frag 7K3-Q9F-N: free is 3, its claims leave 2"
    assert found == Difference("frag 7K3-Q9F-N", "free is 3, its claims leave 2")
