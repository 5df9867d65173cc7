"""Adding a circuit from a recipe: the list, what one asks, the rows it makes, what the network says, taking it in."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated

from fastapi import APIRouter, Depends, Form, Path, Request, Response
from fastapi.responses import RedirectResponse
from starlette.datastructures import FormData

from loomwright.brief.adding import Added, added
from loomwright.brief.from_circuit import recipe_of_circuit
from loomwright.brief.recipe import Recipe, recipe_called
from loomwright.job.job import Job
from loomwright.pages.adding import accepted_apart, mark_of_answers
from loomwright.pages.addresses import job_path
from loomwright.pages.answer_bench import AnswerStanding
from loomwright.pages.desk import Desk
from loomwright.pages.records.recipe_page import recipe_page, recipes_page
from loomwright.pages.rendering import links_of, page
from loomwright.pages.routes.edits import AtDesk, JobName
from loomwright.refusals import BadDocument, NoAnswer, Problem
from loomwright.store.own_recipes import keep_recipe, known_recipes
from loomwright.store.snapshot import Snapshot
from loomwright.store.text_rows import AddRow
from loomwright.trials.accepting import Accepting

__all__ = ["router"]

router = APIRouter(include_in_schema=False)
RecipeName = Annotated[str, Path(min_length=1, max_length=80)]
_SEE_OTHER = 303
_LONGEST = 200
_MOST_FIELDS = 60


async def _form(request: Request) -> FormData:
    """The fields of a form whose names hang on the recipe."""
    return await request.form(max_files=0, max_fields=_MOST_FIELDS)


@router.get("/j/{job}/add")
def recipes(request: Request, desk: AtDesk, job: JobName) -> Response:
    """The list of recipes."""
    snapshot = desk.shelf.now(job)
    record = recipes_page(known_recipes(desk.shelf.folder), job, snapshot.job)
    return page(request, "recipes.html", record, snapshot=snapshot)


@router.post("/j/{job}/add")
def save(
    desk: AtDesk,
    job: JobName,
    circuit: Annotated[str, Form(max_length=80)],
    name: Annotated[str, Form(max_length=60)],
    title: Annotated[str, Form(max_length=120)] = "",
) -> Response:
    """Keep a circuit of the job as a recipe of the shop's own."""
    recipe = recipe_of_circuit(_job_of(desk.shelf.now(job)), circuit, name.strip(), title.strip())
    keep_recipe(desk.shelf.folder, recipe)
    return RedirectResponse(job_path(job, "add", at="own"), _SEE_OTHER)


@router.get("/j/{job}/add/{recipe}")
def one_recipe(request: Request, desk: AtDesk, job: JobName, recipe: RecipeName) -> Response:
    """What a recipe asks; once answered, the rows it makes and what the network says of them."""
    chosen = _called(desk, recipe)
    snapshot = desk.shelf.now(job)
    given = _given(request.query_params, chosen)
    made, problems = _made(snapshot, chosen, given)
    none: AnswerStanding[Accepting] = AnswerStanding()
    standing = none if made is None else _standing(desk, snapshot, made, given)
    if standing.refused is not None:
        raise standing.refused
    record = recipe_page(
        chosen,
        _job_of(snapshot),
        given,
        links_of(request, snapshot),
        revision=snapshot.revision,
        made=made,
        problems=problems,
        verdict=standing.answer,
        trying=made is not None and standing.answer is None and not standing.stopped,
        stopped=standing.stopped,
        done=standing.done,
        of=standing.of,
    )
    return page(request, "recipe.html", record, snapshot=snapshot)


@router.post("/j/{job}/add/{recipe}/stop")
def stop(request: Request, desk: AtDesk, job: JobName, recipe: RecipeName) -> Response:
    """Stop asking the network, and come back."""
    given = _given(request.query_params, _called(desk, recipe))
    desk.adds.stop(_key(desk.shelf.now(job), recipe, given))
    return RedirectResponse(job_path(job, "add", recipe, query=given), _SEE_OTHER)


@router.post("/j/{job}/add/{recipe}/again")
def again(request: Request, desk: AtDesk, job: JobName, recipe: RecipeName) -> Response:
    """Ask the network after all, and come back."""
    given = _given(request.query_params, _called(desk, recipe))
    desk.adds.again(_key(desk.shelf.now(job), recipe, given))
    return RedirectResponse(job_path(job, "add", recipe, query=given), _SEE_OTHER)


@router.post("/j/{job}/add/{recipe}/take")
def take(desk: AtDesk, job: JobName, recipe: RecipeName, form: Annotated[FormData, Depends(_form)]) -> Response:
    """Take the rows in as one revision; nothing where the job has changed meanwhile."""
    chosen = _called(desk, recipe)
    given = _given(form, chosen)
    snapshot = desk.shelf.now(job)
    if str(form.get("revision", "")) != str(snapshot.revision):
        raise NoAnswer("this recipe", ("The job has changed since it was tried: look at what it makes now.",))
    made = added(_job_of(snapshot), chosen, given)
    edits = [AddRow(sheet=row.sheet, cells=dict(row.cells)) for row in made.rows]
    edited = desk.shelf.edit(job, edits, who=desk.who, why=f"added: {chosen.title}")
    if not edited.is_taken:
        raise BadDocument(edited.problems or (_CONFLICT,))
    circuit = made.answers.get("circuit", "")
    return RedirectResponse(job_path(job, "circuit", circuit) if circuit else job_path(job, "add"), _SEE_OTHER)


_CONFLICT = Problem(
    sheet="",
    row=None,
    column="",
    found="somebody else changed these sheets",
    allowed="",
    mend="Look at what it makes now, and take it in again",
)


def _called(desk: Desk, name: str) -> Recipe:
    return recipe_called(name, known_recipes(desk.shelf.folder))


def _job_of(snapshot: Snapshot) -> Job:
    if snapshot.job is None:
        raise BadDocument(snapshot.problems)
    return snapshot.job


def _given(typed: Mapping[str, object], chosen: Recipe) -> dict[str, str]:
    """What was typed for the recipe's asks; what was left blank is left out."""
    found = {ask.name: str(typed.get(ask.name, "")).strip()[:_LONGEST] for ask in chosen.asks}
    return {name: text for name, text in found.items() if text}


def _made(snapshot: Snapshot, chosen: Recipe, given: dict[str, str]) -> tuple[Added | None, tuple[Problem, ...]]:
    if not given:
        return None, ()
    try:
        return added(_job_of(snapshot), chosen, given), ()
    except BadDocument as refusal:
        return None, refusal.problems


def _key(snapshot: Snapshot, recipe: str, given: dict[str, str]) -> tuple[str, int, str]:
    return snapshot.name, snapshot.revision, mark_of_answers(recipe, given)


def _standing(desk: Desk, snapshot: Snapshot, made: Added, given: dict[str, str]) -> AnswerStanding[Accepting]:
    before, after = _job_of(snapshot), made.job
    return desk.adds.look(_key(snapshot, made.recipe.id, given), lambda tell: accepted_apart(before, after, tell))
