"""Opens a pack as a stranger would and measures it against what its report promises.

Nothing of the composition is reused: the pages are rendered, the cut files parsed, the sheets
opened by a DXF reader. Every line of the answer says what was promised, what was measured, and
the limit between them.
"""

from glasswork.verify.frames import finished
from glasswork.verify.pack import verify_pack
from glasswork.verify.shown import RenderedFilms, render_films

__all__ = ["RenderedFilms", "finished", "render_films", "verify_pack"]
