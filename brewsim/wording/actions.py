"""What the first screen says to do: the moves that are worth turning, or nothing."""

from brewsim.answers.everything import Everything
from brewsim.answers.fewest_moves import FewestMoves, PlainMove
from brewsim.quantities.chances import DOTS
from brewsim.quantities.english import capital, counted
from brewsim.quantities.format import printed, with_unit
from brewsim.study.steering.fewest_knobs import WORTH_TURNING
from brewsim.wording.move_words import as_shown, short_moved_words
from brewsim.wording.outcomes import Looks
from brewsim.wording.page_parts import Action
from brewsim.wording.sentences import of_fifty

_LIKELY = 40
"""Batches of 50 that land where a beer is brewed as it stands."""


def actions_of(found: Everything, looks: Looks) -> tuple[Action, ...]:
    """Return what a first screen says to do."""
    if not found.problem.targets:
        return (
            Action(
                "Say what the beer should be",
                "With targets in the recipe this page says how many batches land and what to turn.",
            ),
        )
    moves = found.moves
    if moves is None:
        return ()
    if not moves.moves:
        return (_nothing(moves),)
    return tuple(_action(moves, move, looks) for move in moves.moves)


def _nothing(moves: FewestMoves) -> Action:
    more = of_fifty(WORTH_TURNING)
    if of_fifty(moves.today.chance[0]) >= _LIKELY:
        return Action("Brew it as it stands", f"No setting adds {more} batches of {DOTS}.")
    tried = counted(len(moves.problem.knobs), "knob")
    return Action(
        "Nothing is worth turning",
        f"{capital(tried)} tried, those you did not list among them: none adds {more} batches of "
        f"{DOTS}. The spread decides; see below what to measure.",
        brief=f"nothing is worth turning; {tried} tried, none adds {more} of {DOTS}",
    )


def _action(moves: FewestMoves, move: PlainMove, looks: Looks) -> Action:
    where = short_moved_words(moves.problem, move.settings)
    count, now = of_fifty(move.chance), of_fifty(moves.today.chance[0])
    joint = f"All targets: {count} of {DOTS} instead of {now}."
    chances = {name: after for name, (_, after) in move.chances.items()}
    settings = as_shown(moves.problem, move.settings)
    if move is moves.nearest:
        title = f"Or least: {where}"
        brief = f"{title}: {count} of {DOTS}"
        return Action(title, joint, settings, chances, move.chance, brief)
    told = [_median(move, looks), *([joint] if len(move.chances) > 1 else [])]
    brief = f"{where}: {count} of {DOTS} instead of {now}"
    if move is moves.unlisted:
        told.append("(Not one of your knobs.)")
        return Action(capital(where), " ".join(told), brief=f"{brief} (not one of your knobs)")
    if not moves.one_helps:
        told.append("No knob alone is worth it.")
    return Action(capital(where), " ".join(told), settings, chances, move.chance, brief)


def _median(move: PlainMove, looks: Looks) -> str:
    """Say what a move does to the target that it helps most."""
    name = move.helps()
    look = looks[name]
    before, after = (printed(look, m * look.per_model) for m in move.medians[name])
    was, now = (of_fifty(chance) for chance in move.chances[name])
    count = f" ({was} to {now} of {DOTS})" if was != now else ""
    return f"Moves the median of {look.label} from {before} to {with_unit(look, after)}{count}."
