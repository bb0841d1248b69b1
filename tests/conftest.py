"""Where real photographs are found, and which commands the tests ask."""

import os
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest

BESIDE = Path(__file__).resolve().parents[1].parent / "shared" / "photos"


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addini("areakit_photos", "folder with sets of real photographs, each with its manifest.json", default="")


@pytest.fixture(scope="session")
def photos_dir(pytestconfig: pytest.Config) -> Path:
    """The folder of real photographs: AREAKIT_PHOTOS, the ini setting areakit_photos, or ../shared/photos."""
    named = os.environ.get("AREAKIT_PHOTOS") or str(pytestconfig.getini("areakit_photos"))
    folder = Path(named) if named else BESIDE
    if not folder.is_dir():
        pytest.skip("real photographs are not here: set AREAKIT_PHOTOS")
    return folder


@pytest.fixture
def photo_set(photos_dir: Path, request: pytest.FixtureRequest) -> Path:
    """The set that the test names with ``@pytest.mark.parametrize("photo_set", [...], indirect=True)``."""
    folder = photos_dir / str(request.param)
    if not folder.is_dir():
        pytest.skip(f"the set {request.param} of real photographs is not here")
    return folder


@pytest.fixture(autouse=True, scope="session")
def _no_shop_of_this_user(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Plan without the profiles and the journal that whoever runs the tests may keep."""
    with pytest.MonkeyPatch.context() as patch:
        patch.delenv("AREAKIT_SHOP", raising=False)
        patch.setenv("AREAKIT_SHOPS", str(tmp_path_factory.mktemp("shops")))
        patch.setenv("XDG_STATE_HOME", str(tmp_path_factory.mktemp("state")))
        patch.setenv("AREAKIT_JOURNAL", str(tmp_path_factory.mktemp("journals") / "none.sqlite"))
        yield


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Say why tests were skipped, each reason once."""
    skipped = terminalreporter.stats.get("skipped", [])
    reasons = Counter(str(one.longrepr[2]).removeprefix("Skipped: ") for one in skipped)
    for reason, count in reasons.most_common():
        terminalreporter.write_line(f"{count} skipped: {reason}")
