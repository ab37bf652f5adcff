"""A rod of a public library, let swing to rest, ends where ours does."""

from __future__ import annotations

import pytest

from barfit.bench.relaxed import installed, peers_at_rest


@pytest.mark.skipif(not installed(), reason="the optional extra 'bench' is not installed")
@pytest.mark.filterwarnings("default")  # the library's own
def test_library_rod_comes_to_rest_where_ours_does() -> None:
    checks, table = peers_at_rest(("brake hose",))
    failed = [str(check) for check in checks if not check.passed]
    assert not failed, failed
    assert table.row_count == 3
