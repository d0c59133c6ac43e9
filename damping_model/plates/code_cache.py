"""Where compiled code is kept between runs, so that it is never older than its source.

By itself numba keeps the code of a function beside the function's file, and looks for changes in that file
alone: what other files give to the function may change unseen. Here the name of the folder that keeps the
code holds a hash of all source that the code is compiled from. The folder lies in the user's cache folder,
since an installation may be read-only; ``NUMBA_CACHE_DIR`` names another.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import sys
import time
from collections.abc import Callable
from importlib.util import find_spec
from pathlib import Path
from threading import Lock
from typing import Any, Final, ParamSpec, TypeVar

import llvmlite.binding as llvm
import numba
from numba import njit
from platformdirs import user_cache_path

KEPT_VERSIONS: Final = 4
"""Folders of other versions that stay, so that two versions used in turn do not compile every time."""

IN_USE: Final = 3600.0
"""A folder used within this time stays in any case. [s]"""

_NUMBA: Final[Any] = numba.config  # its names are made as it is imported, so that no types are known
Parameters = ParamSpec("Parameters")
Result = TypeVar("Result")
_DECORATING: Final = Lock()


def source_digest(*modules: str, on: str = "") -> str:
    """Hash of the source of modules and of all modules in packages, of what compiles it and of the processor.

    Parameters
    ----------
    modules : names of modules and packages; every file that gives a constant or a function to compiled code.
    on : hash of other source that the code is compiled from.

    Returns
    -------
    Empty where the source cannot be read, as in an archive.
    """
    compiler = (numba.__version__, sys.version, _NUMBA.CPU_NAME or llvm.get_host_cpu_name(), on)
    digest = hashlib.sha256(repr(compiler).encode())
    try:
        for module in modules:
            for file in _files(module):
                digest.update(f"{module} {file.name} ".encode() + hashlib.sha256(file.read_bytes()).digest())
    except OSError:
        return ""
    return digest.hexdigest()[:20]


def _files(module: str) -> list[Path]:
    """Source files of a module, or of all modules that lie in a package."""
    spec = find_spec(module)
    if spec is None or spec.origin is None:
        raise FileNotFoundError(module)
    folders = spec.submodule_search_locations
    return sorted(Path(folders[0]).glob("*.py")) if folders else [Path(spec.origin)]


def code_folder(name: str, digest: str) -> Path | None:
    """Make the folder for code of a digest, and remove long unused ones of other digests.

    Returns
    -------
    None where there is no digest or the folder cannot be written: nothing is kept then.
    """
    if not digest:
        return None
    root = Path(_NUMBA.CACHE_DIR or user_cache_path("shimwright", appauthor=False))
    folder = root / f"{name}-{digest}"
    try:
        if folder.is_dir():
            os.utime(folder)  # it is in use
        else:
            folder.mkdir(parents=True, exist_ok=True)
            _remove_unused(root, name, folder)
    except OSError:
        return None
    return folder if os.access(folder, os.W_OK) else None


def _remove_unused(root: Path, name: str, present: Path) -> None:
    """Remove the folders of all other versions but the last few; numba makes anew what a process has lost."""
    others = [
        (path.stat().st_mtime, path)
        for path in root.glob(f"{name}-*")
        if path.name != present.name and len(path.name) == len(present.name)
    ]
    for used, path in sorted(others, reverse=True)[KEPT_VERSIONS:]:
        if time.time() - used > IN_USE:
            shutil.rmtree(path, ignore_errors=True)


def compiled_in(
    folder: Path | None, **options: Any
) -> Callable[[Callable[Parameters, Result]], Callable[Parameters, Result]]:
    """Decorator like :func:`numba.njit` that keeps the code in a folder; without one it keeps none."""

    def decorate(function: Callable[Parameters, Result]) -> Callable[Parameters, Result]:
        kept = None if folder is None else _kept_in(folder, function, options)
        compiled: Callable[Parameters, Result] = njit(**options)(function) if kept is None else kept
        return compiled

    return decorate


def _kept_in(folder: Path, function: Callable[..., Any], options: dict[str, Any]) -> Any:
    """Dispatcher that keeps its code in the folder, or None where numba would keep it elsewhere."""
    with _DECORATING:
        usual = _NUMBA.CACHE_DIR
        _NUMBA.CACHE_DIR = str(folder)  # numba looks there once, when it decorates
        try:
            dispatcher = njit(cache=True, **options)(function)
        except RuntimeError:  # numba found no place that it can write to
            return None
        finally:
            _NUMBA.CACHE_DIR = usual
    place = _place_of(dispatcher)
    return dispatcher if place is not None and folder in place.parents else None


def is_compiled(dispatcher: Any) -> bool:
    """Whether a function's code is loaded, or lies on disk from an earlier run."""
    if getattr(dispatcher, "signatures", None):
        return True
    place = _place_of(dispatcher)
    return place is not None and any(place.glob(f"*.{dispatcher.__name__}-*.nbi"))


def _place_of(dispatcher: Any) -> Path | None:
    """Folder that a dispatcher keeps its code in."""
    stats = getattr(dispatcher, "stats", None)  # there is none where NUMBA_DISABLE_JIT is set
    return Path(stats.cache_path) if stats is not None and stats.cache_path else None
