"""The night's order: stations interleaved so that one station's soak is another's run, and how tight that is.

Minutes are whole and count from the opening of the window. `chains` says what is asked for and what comes out,
`moments` what may begin next on a night half arranged, `bound` how early it can end at best, `lists` arranges whole
nights cheaply, `order` searches, and `packing` decides who is served when a window cannot hold everything.
"""

from etsched.core.night.chains import Chains, Limits, Packing
from etsched.core.night.packing import bound, pack, pack_whole

__all__ = ["Chains", "Limits", "Packing", "bound", "pack", "pack_whole"]
