"""The bench guide: what to print, cut, colour and glue, in working order, with pictures."""

from __future__ import annotations

from glasswork.model.sheet import Page, PageSize
from glasswork.sheets import guide_joints, guide_light, guide_parts, guide_places, guide_steps
from glasswork.sheets.facts import GuideFacts
from glasswork.sheets.flow import Flow

__all__ = ["GuideFacts", "guide_pages"]


def guide_pages(facts: GuideFacts, page: PageSize) -> tuple[Page, ...]:
    """The guide on pages of this size."""
    flow = Flow(page=page, running=f"{facts.title}: bench guide")
    guide_parts.opening(flow, facts)
    guide_parts.decisions(flow, facts)
    guide_parts.films_table(flow, facts)
    guide_parts.glass_legend(flow, facts)
    guide_parts.out_of_reach(flow, facts)
    guide_parts.parts_list(flow, facts)
    flow.together(lambda part: guide_steps.cautions(part, facts))
    guide_steps.stack(flow, facts)
    guide_steps.steps(flow, facts)
    guide_joints.joints(flow, facts)
    guide_light.light_plan(flow, facts)
    flow.together(lambda part: guide_steps.tolerances(part, facts))
    flow.together(lambda part: guide_places.places(part, facts))
    return flow.finished()
