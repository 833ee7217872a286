"""Where an engine finds nothing: what it gives then."""

from __future__ import annotations

from bayhelper.terms.utterance import Decode, Spotted

NOTHING = Decode(words=(), score_per_frame=float("-inf"))
"""No words, which score below any."""
NOWHERE = Spotted(float("-inf"))
"""No place where a phrase was said."""
SHORTEST_S = 0.1
"""Less sound than this, ten frames of features, is too little to read anything; by trial."""
