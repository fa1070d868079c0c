"""The one screen: where the panes stand, what each shows, and the playhead over them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction

from textual import events
from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.screen import Screen

from engine.pitch import Pitch
from engine.workshop import Pane, Work
from tui.commands import Keymap
from tui.draw import Sheet
from tui.layout import Places, places
from tui.lists import BESIDE
from tui.view import View
from tui.widgets.canvas import Canvas, Look
from tui.widgets.chart import draw_chart, scrolled, wanted_rows
from tui.widgets.chord import draw_chord, sounding_keys
from tui.widgets.frame import draw_header, draw_keys_line, draw_transport
from tui.widgets.lane import draw_lane, lane_plan
from tui.widgets.lane_plan import LanePlan
from tui.widgets.lists import draw_list
from tui.widgets.step_keys import ROWS as STEP_ROWS

Keys = Callable[[str, str | None], None]


class Desk(Screen[None], inherit_bindings=False):
    """Title line, chart beside chord, figure pane, transport, keys; a list over them."""

    DEFAULT_CSS = """
    Desk { layers: base over; overflow: hidden; background: $background; }
    Desk #upper { height: 10; }
    Desk #list { layer: over; display: none; }
    """

    def __init__(
        self,
        look: Look,
        press: Keys,
        paste: Callable[[str], None],
        view: Callable[[], View],
        keymap: Keymap,
    ) -> None:
        super().__init__()
        self._look = look
        self._press = press
        self._paste = paste
        self._view = view
        self._keymap = keymap
        self._places: Places | None = None
        self._drawn: tuple[int, int] = (0, 0)
        self._plan: LanePlan | None = None
        self._top = 0
        self._down: Mapping[Pitch, int | None] = {}
        self._canvases: Mapping[str, Canvas] = {}

    def compose(self) -> ComposeResult:
        names = ("header", "chart", "edge", "chord", "figure", "transport", "keys", "list")
        canvas = self._canvases = {name: Canvas(self._look, id=name) for name in names}
        yield canvas["header"]
        with Horizontal(id="upper"):
            yield canvas["chart"]
            yield canvas["edge"]
            yield canvas["chord"]
        for name in names[4:]:
            yield canvas[name]

    def on_mount(self) -> None:
        """Place the panes before the first layout, so that there is one and not two."""
        self.lay_out()

    def on_key(self, event: events.Key) -> None:
        event.stop()
        event.prevent_default()
        self._press(event.key, event.character)

    def on_paste(self, event: events.Paste) -> None:
        event.stop()
        self._paste(event.text)

    def on_resize(self) -> None:
        if self.app.size != self._drawn:  # what stands already is not drawn again
            self.lay_out()

    def restyle(self) -> None:
        """Paint everything again in other colours or signs."""
        for canvas in self._canvases.values():
            canvas.restyle()

    @property
    def canvases(self) -> tuple[Canvas, ...]:
        """Every pane and line, from the top."""
        return tuple(self._canvases.values())

    def text(self) -> str:
        """What a reader sees, pane after pane, without colours."""
        shown = [canvas for canvas in self._canvases.values() if canvas.display]
        return "\n".join(canvas.sheet.text() for canvas in shown)

    def lay_out(self) -> None:
        """Give each pane its size where that changed, then draw."""
        width, height = self.app.size
        if width == 0 or height == 0:
            return
        view = self._view()
        stepping = view.work.steps is not None
        rows = wanted_rows(view.work.shown)
        found = places(width, height, _pane(view.work), rows, stepping=stepping)
        if found != self._places:
            self._place(found)
        self._drawn = (width, height)
        self.draw()

    def _place(self, found: Places) -> None:
        self._places = found
        for pane in Pane:
            canvas = self._canvases[pane.value]
            canvas.display = pane in found.panes
            if pane in found.panes:
                canvas.styles.width, canvas.styles.height = found.panes[pane]
        upper = self.query_one("#upper")
        heights = [found.panes[pane][1] for pane in (Pane.CHART, Pane.CHORD) if pane in found.panes]
        upper.display = bool(heights)
        edge = self._canvases["edge"]
        edge.display = not found.single
        edge.styles.width = 1
        if heights:
            upper.styles.height = edge.styles.height = heights[0]

    def draw(self) -> None:
        """Draw every pane from the work as it is now."""
        found = self._places
        if found is None:
            return
        view, canvas, width = self._view(), self._canvases, self.app.size.width
        canvas["header"].show(draw_header(view, width))
        if Pane.CHART in found.panes:
            size = found.panes[Pane.CHART]
            self._top = scrolled(view, self._top, size[1])
            canvas["chart"].show(draw_chart(view, *size, self._top))
        beside = self._draw_list(view, found)
        if Pane.CHORD in found.panes and not beside:
            canvas["chord"].show(draw_chord(view, *found.panes[Pane.CHORD]))
        if Pane.FIGURE in found.panes:
            size = found.panes[Pane.FIGURE]
            self._plan = lane_plan(view, size[0])
            canvas["figure"].show(draw_lane(view, *size, self._plan))
        if not found.single:
            canvas["edge"].show(draw_edge(found.panes[Pane.CHART][1]))
        canvas["transport"].show(draw_transport(view, width))
        canvas["keys"].show(draw_keys_line(view, width, self._keymap))
        self.move_head(view)

    def _draw_list(self, view: View, found: Places) -> bool:
        """Draw the open list; whether it stands in the chord pane's place."""
        chooser, over = view.work.chooser, self._canvases["list"]
        beside = chooser is not None and chooser.kind in BESIDE
        if beside and Pane.CHORD in found.panes:
            over.display = False
            self._canvases["chord"].show(draw_list(view, *found.panes[Pane.CHORD], self._keymap))
            return True
        over.display = chooser is not None
        if chooser is not None:
            width = min(self.app.size.width, 100)
            height = max(3, self.app.size.height - 3)
            over.styles.width, over.styles.height = width, height
            over.styles.offset = ((self.app.size.width - width) // 2, 1)
            over.show(draw_list(view, width, height, self._keymap))
        return False

    def move_keys(self, view: View) -> None:
        """The keyboard strip of what sounds now, where other keys are down than before."""
        found, at = self._places, view.sounding
        if found is None or Pane.CHORD not in found.panes or view.work.chooser is not None:
            return
        down = sounding_keys(view, at) if at is not None else {}
        if down != self._down:
            self._down = down
            self._canvases["chord"].show(draw_chord(view, *found.panes[Pane.CHORD]))

    def move_head(self, view: View) -> None:
        """The playhead where it sounds, or nowhere."""
        lane, at = self._canvases["figure"], view.sounding
        if self._plan is None or at is None:
            lane.set_head(None)
            return
        start: Fraction = view.work.shown.bars[at.bar - 1].start
        below = STEP_ROWS if view.work.steps is not None else 0
        last = max(1, lane.sheet.height - 1 - below)
        lane.set_head(self._plan.column(start + at.at), 1, last)


def _pane(work: Work) -> Pane:
    """The pane to show where there is room for one: in step mode the keys to strike."""
    if work.steps is not None and work.pane is Pane.CHART:
        return Pane.FIGURE
    return work.pane


def draw_edge(height: int) -> Sheet:
    """The line between chart and chord."""
    sheet = Sheet(1, height)
    sheet.put(0, 0, "┬", "rule")
    for y in range(1, height):
        sheet.put(0, y, "│", "rule")
    return sheet
