"""A plan as a drawing of its own: one SVG file, nothing outside it needed."""

from assistant.core.length import tape
from assistant.core.plan import Plan
from assistant.record import marks
from assistant.record.drawing import draw_plan
from assistant.record.figures import words
from assistant.record.report import templates
from assistant.record.telling import wall_name


def plan_svg(plan: Plan) -> str:
    """The drawing: room, openings, start corner, every pull with its number."""
    room, system = plan.job.room, plan.job.room.system
    told = (
        templates()
        .get_template("plan.svg")
        .render(
            plan=draw_plan(plan, {}),
            pulls=[
                {
                    "number": each.number,
                    "wall_name": wall_name(each, outlined=room.outline is not None),
                    "position": tape(each.called_position, system),
                    "mark": "planned",
                }
                for each in plan.pulls
            ],
            room=f"{tape(room.length, system)} × {tape(room.width, system)}",
            job=plan.job,
            marks=marks,
            words=words,
        )
    )
    return told.strip() + "\n"
