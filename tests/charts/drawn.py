"""What every picture of days must keep to."""

import os
import subprocess
import sys


def check_alone(svg):
    """It asks nothing of anywhere: no script, no style sheet and no picture from outside."""
    for word in ("<script", "href", "@import", "@font-face", "<image", "<!", "javascript:"):
        assert word not in svg
    assert svg.count("http") == 1  # the namespace
    assert svg.count("url(") == svg.count("url(#day-hatch-")


def check_same_bytes(code):
    """Code that writes the picture to standard output writes the same bytes, whatever the hash seed."""
    outputs = {
        subprocess.run(
            [sys.executable, "-c", code], env=os.environ | {"PYTHONHASHSEED": seed}, capture_output=True, check=True
        ).stdout
        for seed in ("1", "2")
    }
    assert len(outputs) == 1
    assert next(iter(outputs)).startswith(b"<svg ")
