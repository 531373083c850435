"""Tables and plots over many entries: what worked by material and cutter, and how it drifts. Imports pandas."""

from __future__ import annotations

import math
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pandas as pd

from millcalc.cutlog.models import LIMIT_KINDS, Entry
from millcalc.cutlog.rows import FIELDS
from millcalc.errors import LogError
from millcalc.files import new_file

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_PLOT_KINDS = (".png", ".svg", ".pdf")


def wilson_interval(successes: int, trials: int, z: float = 1.959964) -> tuple[float, float]:
    """Interval for a share from a count.

    successes, trials: Counts [-].
    z: Normal quantile; 1.959964 for 95 % [-].
    Returns: Low and high end [-]; 0 and 1 without trials.

    Source: E. B. Wilson, J. Amer. Statist. Assoc. 22, 1927, 209-212.

    >>> [round(end, 3) for end in wilson_interval(9, 10)]
    [0.596, 0.982]
    """
    if trials <= 0:
        return 0.0, 1.0
    share = successes / trials
    middle = share + z * z / (2 * trials)
    half = z * math.sqrt(share * (1 - share) / trials + z * z / (4 * trials * trials))
    scale = 1 + z * z / trials
    return max(0.0, (middle - half) / scale), min(1.0, (middle + half) / scale)


def frame_of(entries: Iterable[Entry]) -> pd.DataFrame:
    """Entries as a table, one row each; computed chips and the shares in columns of their own.

    entries: The cuts.
    Returns: Columns are the fields of an entry, ``feed_per_tooth_mm``, ``largest_chip_mm`` and ``share_``
      columns.
    """
    rows: list[dict[str, Any]] = []
    for entry in entries:
        row = {name: getattr(entry, name) for name in FIELDS if name not in ("shares", "symptoms")}
        row["symptoms"] = "; ".join(entry.symptoms)
        row["feed_per_tooth_mm"] = entry.feed_per_tooth_mm
        row["largest_chip_mm"] = entry.largest_chip_mm
        row |= {f"share_{kind}": entry.shares.get(kind) for kind in LIMIT_KINDS}
        rows.append(row)
    frame = pd.DataFrame(rows)
    if not rows:
        names = [name for name in FIELDS if name != "shares"]
        frame = pd.DataFrame(columns=[*names, "feed_per_tooth_mm", "largest_chip_mm"])
    frame["when"] = pd.to_datetime(frame["when"], utc=True)
    return frame


def what_worked(frame: pd.DataFrame) -> pd.DataFrame:
    """One row for each material, cutter and cooling, the most cuts first.

    frame: From :func:`frame_of`.
    Returns: Cuts, good, acceptable and failed; the good share with its 95 % interval [-]; deepest good and
      shallowest failed ap [mm]; smallest and largest good chip [mm]. Cuts that differ in flutes, stickout
      or width share a row: it is an overview, not a setting.
    """
    rows = []
    for (material, cutter, cooling), group in frame.assign(cooling=frame["cooling"].fillna("")).groupby(
        ["material", "cutter", "cooling"], sort=True
    ):
        good = group[group["outcome"] == "good"]
        failed = group[group["outcome"] == "failed"]
        low, high = wilson_interval(len(good), len(group))
        rows.append(
            {
                "material": material,
                "cutter": cutter,
                "cooling": cooling,
                "cuts": len(group),
                "good": len(good),
                "acceptable": int((group["outcome"] == "acceptable").sum()),
                "failed": len(failed),
                "good_share": len(good) / len(group),
                "good_share_low": low,
                "good_share_high": high,
                "deepest_good_mm": _number(good["axial_depth_mm"], "max"),
                "shallowest_failed_mm": _number(failed["axial_depth_mm"], "min"),
                "smallest_good_chip_mm": _number(good["largest_chip_mm"], "min"),
                "largest_good_chip_mm": _number(good["largest_chip_mm"], "max"),
            }
        )
    table = pd.DataFrame(rows)
    return (
        table if table.empty else table.sort_values("cuts", ascending=False, kind="stable", ignore_index=True)
    )


def _number(column: pd.Series[Any], which: str) -> float:
    known = pd.to_numeric(column, errors="coerce").dropna()
    return float("nan") if known.empty else float(known.max() if which == "max" else known.min())


def drift(frame: pd.DataFrame) -> pd.DataFrame:
    """How the share of good cuts and the wall errors move from quarter to quarter.

    frame: From :func:`frame_of`.
    Returns: Quarter, cuts [-], good share with its 95 % interval [-], median wall error over computed
      deflection [-] where both are known. A rise of that ratio says that the machine or the cutters get
      softer.
    """
    if frame.empty:
        return pd.DataFrame(columns=["quarter", "cuts", "good_share", "low", "high", "error_ratio"])
    when = frame["when"].dt.tz_localize(None)
    known = pd.to_numeric(frame["deflection_mm"], errors="coerce")
    ratio = pd.to_numeric(frame["size_error_mm"], errors="coerce").abs() / known.where(known > 0)
    rows = []
    for quarter, index in frame.groupby(when.dt.to_period("Q")).groups.items():
        good = int((frame.loc[index, "outcome"] == "good").sum())
        low, high = wilson_interval(good, len(index))
        rows.append(
            {
                "quarter": str(quarter),
                "cuts": len(index),
                "good_share": good / len(index),
                "low": low,
                "high": high,
                "error_ratio": float(ratio.loc[index].median()),
            }
        )
    return pd.DataFrame(rows)


def depth_plot(frame: pd.DataFrame, target: Path, title: str = "", *, force: bool = False) -> int:
    """Draw depth against chip thickness, one mark a cut; the outcome is shape and colour.

    frame: From :func:`frame_of`.
    target: ``.png``, ``.svg`` or ``.pdf``.
    title: Above the plot.
    force: Whether a file that is there may be replaced.
    Returns: Cuts drawn: those whose depth and chip are known [-].
    Raises LogError: For another kind of file, nothing to draw, or a file that is there or cannot be written.
    """
    if target.suffix.lower() not in _PLOT_KINDS:
        raise LogError(f"{target.suffix or 'no'} ending", ", ".join(_PLOT_KINDS), field="-o")
    known = frame.dropna(subset=["axial_depth_mm", "largest_chip_mm"])
    if known.empty:
        raise LogError("no cut with both depth and chip", "at least one", field="-o")
    figure = _figure(known, title)
    try:
        with new_file(target, replace=force, kind=LogError) as part:
            figure.savefig(part, format=target.suffix.lower()[1:], dpi=150)
    except OSError as error:
        raise LogError(
            error.strerror or str(error), "a folder that can be written to", file=str(target)
        ) from error
    return len(known)


def _figure(known: pd.DataFrame, title: str) -> Figure:
    from matplotlib.figure import Figure

    figure = Figure(figsize=(7.0, 5.0), layout="constrained")
    axes = figure.add_subplot()
    # shape carries the outcome; the colours are from Okabe & Ito's set, told apart by colour-blind people
    for outcome, mark, colour in (
        ("good", "o", "#0072B2"),
        ("acceptable", "s", "#E69F00"),
        ("failed", "X", "#D55E00"),
    ):
        part = known[known["outcome"] == outcome]
        axes.scatter(
            part["largest_chip_mm"].astype(float),
            part["axial_depth_mm"].astype(float),
            marker=mark,
            c=colour,
            s=45,
            edgecolors="black",
            linewidths=0.6,
            label=f"{outcome} ({len(part)})",
        )
    axes.set_xlabel("largest chip thickness, mm")
    axes.set_ylabel("axial depth ap, mm")
    axes.set_xlim(left=0)
    axes.set_ylim(bottom=0)
    axes.grid(alpha=0.3)
    axes.legend()
    axes.set_title(title)
    return figure
