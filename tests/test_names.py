"""Names: what the package offers, what it says of itself, and that the stub, the help and the binary agree."""

import inspect
import re
import subprocess
import sys
from pathlib import Path

import bracewright as bw
import pytest
from bracewright import _core

CLASSES = [c for c in (getattr(bw, n) for n in bw.__all__) if isinstance(c, type)]
CORE = [c for c in CLASSES if not issubclass(c, Exception)]


def members():
    for cls in CORE:
        for name in vars(cls):
            if not name.startswith("_"):
                yield pytest.param(cls, name, id=f"{cls.__name__}.{name}")


def test_all_is_complete_and_flat():
    assert set(_core.__all__) <= set(bw.__all__)
    assert [n for n in bw.__all__ if not hasattr(bw, n)] == []


@pytest.mark.parametrize("cls", CORE, ids=lambda c: c.__name__)
def test_classes_say_where_they_live_and_have_help(cls):
    assert cls.__module__ == "bracewright"
    assert cls.__doc__ and len(cls.__doc__) > 20
    assert getattr(bw, cls.__name__) is cls


@pytest.mark.parametrize("cls, name", list(members()))
def test_every_member_has_help(cls, name):
    doc = inspect.getattr_static(cls, name).__doc__ or getattr(cls, name).__doc__
    assert doc and doc.strip().endswith((".", "..."))


def test_every_function_has_help():
    for name in _core.__all__:
        f = getattr(_core, name)
        if not isinstance(f, type):
            assert f.__doc__, name


def test_units_are_in_the_names_of_arguments():
    """No argument is called plainly length, height, load, ...: the unit follows."""
    bare = re.compile(r"^(length|width|height|depth|mass|load|force|modulus|density|deflection|span|radius|rise|x|at)$")
    for cls in CORE:
        for name in vars(cls):
            f = getattr(cls, name)
            if name.startswith("_") or not callable(f):
                continue
            for p in inspect.signature(f).parameters:
                assert not bare.match(p), f"{cls.__name__}.{name}({p})"


def test_names_are_snake_case():
    for cls in CORE:
        for name in vars(cls):
            if not name.startswith("_"):
                assert re.fullmatch(r"[a-z][a-z0-9_]*", name), f"{cls.__name__}.{name}"


def test_values_cannot_be_changed_or_given_attributes():
    wood = bw.Wood.published("Sitka spruce")
    with pytest.raises(AttributeError):
        wood.density_kg_m3 = 1.0
    with pytest.raises(AttributeError):
        wood.colour = "red"


def test_importing_needs_numpy_alone():
    """pandas, matplotlib and pint are imported by the call that needs them."""
    code = "import bracewright, sys; print([m for m in ('pandas', 'matplotlib', 'pint', 'scipy') if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_package_is_typed():
    folder = Path(bw.__file__).parent
    assert (folder / "py.typed").exists() and (folder / "_core.pyi").exists()
