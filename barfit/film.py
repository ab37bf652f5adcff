"""A film of a swept setup turned from lock to lock and back, as MP4 or GIF. No window is needed.

Every frame is a pose of the sweep: what is seen is what was solved.
"""

from __future__ import annotations

import math
import os
import tempfile
import zlib
from collections import Counter
from collections.abc import Generator, Iterator, Sequence
from contextlib import contextmanager
from enum import StrEnum
from pathlib import Path

import imageio_ffmpeg
import numpy as np

from barfit.analysis import Cancelled, LineFinding, Sweep
from barfit.analysis.work import Cancel, Progress
from barfit.report.captions import bars_caption, pose_caption
from barfit.scene import Scene
from barfit.scene.picture import drawing, frame

_BOUNCE = 0.2  # of a film's seconds, at each lock


class Fork(StrEnum):
    """How the fork stands while the bars turn."""

    RIDE_HEIGHT = "ride-height"
    EXTENDED = "extended"
    COMPRESSED = "compressed"
    BOUNCE = "bounce"


RATES = {".mp4": 25, ".gif": 20}
"""Frames a second of each kind of film. A GIF counts in hundredths of a second."""

SHORTEST, LONGEST = 1.0, 120.0  # seconds
SMALLEST, LARGEST = 160, 3840  # pixels, either way

_MP4 = ("-movflags", "+faststart", "-crf", "20")
# one palette for the whole film, of the colours that change; without a pattern that crawls
_GIF = (
    "-filter_complex",
    "split[a][b];[a]palettegen=stats_mode=diff[p];[b][p]paletteuse=dither=bayer:bayer_scale=4",
    "-loop",
    "0",
)


class FilmError(ValueError):
    """A film that cannot be made; the message says what would be accepted."""


def refused(target: Path, size: tuple[int, int], seconds: float) -> str:
    """Why no such film can be made, in a sentence; "" where it can."""
    if target.suffix.lower() not in RATES:
        return f"{target}: a film is written as MP4 or GIF; end its name in .mp4 or .gif."
    if not all(SMALLEST <= side <= LARGEST for side in size):
        return (
            f"{size[0]}x{size[1]} is no size for a film: {SMALLEST} to {LARGEST} pixels either way."
        )
    if any(side % 2 for side in size):
        return f"{size[0]}x{size[1]} is no size for a film: both have to be even numbers."
    if not SHORTEST <= seconds <= LONGEST:
        return f"{seconds:g} seconds is outside {SHORTEST:g} to {LONGEST:g}."
    return ""


def turns(sweep: Sweep, seconds: float, rate: float) -> np.ndarray:
    """The turn angle (rad) of each frame (N,): from straight ahead to left lock, right lock and
    back, slow at the locks; the last is the first again. N is odd, and at least 5.
    """
    count = 2 * max(round(0.5 * seconds * rate), 2) + 1
    swing = np.sin(2.0 * math.pi * np.linspace(0.0, 1.0, count))
    swing[[0, count // 2, -1]] = 0.0
    ends = sweep.angles[-1], -sweep.angles[0]
    # rounded, so that the way back passes the very poses of the way out
    return np.round(np.where(swing > 0.0, ends[0] * swing, ends[1] * swing), 9)


def poses(sweep: Sweep, seconds: float, rate: float, fork: Fork) -> np.ndarray:
    """The turn angle (rad) and the fork's position (mm, compression positive) of each frame
    (N, 2). With the fork bouncing the bars wait at each lock while it goes from ride height to
    full extension, to full compression and back.
    """
    machine = sweep.setup.machine
    extended, compressed = -machine.sag, machine.travel - machine.sag
    if fork is not Fork.BOUNCE:
        still = {Fork.EXTENDED: extended, Fork.COMPRESSED: compressed}.get(fork, 0.0)
        angles = turns(sweep, seconds, rate)
        return np.column_stack([angles, np.full(len(angles), still)])
    angles = turns(sweep, (1.0 - 2.0 * _BOUNCE) * seconds, rate)
    angles[angles.argmax()], angles[angles.argmin()] = sweep.angles[-1], sweep.angles[0]
    steps = 2 * max(round(0.25 * _BOUNCE * seconds * rate), 1)  # even: the ends are reached
    swing = np.sin(math.pi * np.arange(steps + 1) / steps)
    travels = np.round(np.concatenate([extended * swing, compressed * swing[1:]]), 6)
    travels[[0, steps, -1]] = 0.0
    found, at = [], 0
    for lock in (int(np.argmax(angles)), int(np.argmin(angles))):
        found += [(turn, 0.0) for turn in angles[at:lock]]
        found += [(angles[lock], travel) for travel in travels]
        at = lock + 1
    found += [(turn, 0.0) for turn in angles[at:]]
    return np.array(found)


def film(
    target: Path,
    sweep: Sweep,
    findings: Sequence[LineFinding] = (),
    *,
    size: tuple[int, int] = (1280, 720),
    seconds: float = 8.0,
    view: str = "three-quarter",
    colour: str = "slack",
    stock_ghost: Sweep | None = None,
    fork: Fork = Fork.RIDE_HEIGHT,
    captions: bool = True,
    theme: str = "light",
    unit: str = "mm",
    progress: Progress | None = None,
    cancelled: Cancel | None = None,
) -> None:
    """Write a film of a sweep to ``target``, .mp4 (H.264) or .gif.

    Each frame says the turn, how the fork stands and which line is worst off there, but for
    ``captions`` left out. ``size`` in pixels, even numbers;
    ``stock_ghost`` is a sweep of the other bars, shown behind. Nothing is left behind where it
    does not come to its end. Raises Cancelled; FilmError where `refused` has a reason or the
    encoder fails; OSError where the file cannot be written; and what `drawing` raises.
    """
    if why := refused(target, size, seconds):
        raise FilmError(why)
    kind = target.suffix.lower()
    path = poses(sweep, seconds, RATES[kind], fork)
    looks = {"size": size, "view": view, "colour": colour, "theme": theme, "unit": unit}
    with (
        _beside(target) as draft,
        drawing(sweep, findings, stock_ghost=stock_ghost, **looks) as scene,  # type: ignore[arg-type]
    ):
        encoder = _encoder(draft, size, kind)
        try:
            encoder.send(None)
            for done, pixels in enumerate(_frames(scene, sweep, findings, path, captions)):
                if cancelled is not None and cancelled():
                    raise Cancelled
                encoder.send(pixels)
                if progress is not None:
                    progress((done + 1) / len(path))
        except OSError as error:  # with all the encoder has to say, of which the last line counts
            raise FilmError(f"{target}: the film could not be encoded: {_last(error)}") from error
        finally:
            encoder.close()
        if (written := _count(draft)) != len(path):  # it may stop at a full disk without a word
            raise FilmError(f"{target}: only {written} of {len(path)} pictures could be written.")


def _frames(
    scene: Scene, sweep: Sweep, findings: Sequence[LineFinding], path: np.ndarray, captions: bool
) -> Iterator[bytes]:
    """The pixels of every frame; each pose is drawn once, and kept (packed) if it comes again."""
    heading = bars_caption(sweep.setup, sweep.stock)
    drawn: dict[tuple[float, float], bytes] = {}
    path_of = [(float(turn), float(travel)) for turn, travel in path]
    left = Counter(path_of)
    for pose in path_of:
        left[pose] -= 1
        if pose in drawn:
            yield zlib.decompress(drawn[pose] if left[pose] else drawn.pop(pose))
            continue
        scene.set_pose(*pose)
        if captions:
            told = pose_caption(*pose, scene.slacks(), scene.radii(), findings, scene.unit)
            scene.caption = heading, told
        pixels = frame(scene).tobytes()
        if left[pose]:
            drawn[pose] = zlib.compress(pixels, 1)
        yield pixels


def _encoder(draft: Path, size: tuple[int, int], kind: str) -> Generator[None, bytes | None, None]:
    """What takes the frames one by one, after a None, and writes the file when it is closed."""
    return imageio_ffmpeg.write_frames(
        str(draft),
        size,
        fps=RATES[kind],
        codec="libx264" if kind == ".mp4" else "gif",
        pix_fmt_out="yuv420p" if kind == ".mp4" else "pal8",
        quality=None,
        macro_block_size=2,
        ffmpeg_log_level="error",
        output_params=list(_MP4 if kind == ".mp4" else _GIF),
    )


def _count(draft: Path) -> int:
    """How many pictures can be read from a film; 0 where it is none."""
    try:
        return int(imageio_ffmpeg.count_frames_and_secs(str(draft))[0])
    except RuntimeError:
        return 0


def draft_prefix(target: Path) -> str:
    """How the name of a film begins while it is being made beside its ``target``."""
    return f".{target.stem[:60]}.draft-"


@contextmanager
def _beside(target: Path) -> Iterator[Path]:
    """A new file beside the target that takes its place at the end, or goes if that is not reached.

    The target itself is never half a film.
    """
    number, name = tempfile.mkstemp(
        suffix=target.suffix.lower(), prefix=draft_prefix(target), dir=target.parent
    )
    os.close(number)
    draft = Path(name)
    try:
        yield draft
        draft.chmod(0o666 & ~_umask())
        draft.replace(target)
    finally:
        draft.unlink(missing_ok=True)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _last(error: OSError) -> str:
    lines = [line.strip() for line in str(error).splitlines() if line.strip()]
    return lines[-1] if lines else "no reason given"
