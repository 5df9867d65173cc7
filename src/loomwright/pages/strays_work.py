"""Who solves many cars with figures a little off: a Dask cluster, processes beside this one, or this one?"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import Executor
from contextlib import contextmanager

from loomwright.car import Car
from loomwright.pages.several import several_apart
from loomwright.refusals import NoAnswer
from loomwright.sizing.tolerance import Strays
from loomwright.states.asking.plan import ALL_BELOW

__all__ = ["cluster_executor", "strays_with"]

_WAIT_S = 20


def strays_with(
    car: Car, *, samples: int, seed: int, tell: Callable[[int, int], None] | None = None, cluster: str = ""
) -> Strays:
    """How far the figures of a car stray.

    Args:
        samples: cars drawn. [-]
        seed: another one draws other cars. [-]
        tell: called with what is done and to do; may raise Stopped.
        cluster: the address of a Dask cluster; processes of this machine where empty.
    Raises:
        NoAnswer: there is no cluster at the address, or the library is not there.
        OutOfReach: more samples than there may be.
    """
    if cluster:
        with cluster_executor(cluster) as executor:
            return car.strays(samples=samples, seed=seed, tell=tell, executor=executor)
    if car.scene.space.raw <= ALL_BELOW:
        return car.strays(samples=samples, seed=seed, tell=tell)
    with several_apart() as processes:
        return car.strays(samples=samples, seed=seed, tell=tell, executor=processes)


@contextmanager
def cluster_executor(address: str) -> Iterator[Executor]:
    """An executor of a Dask cluster; the only place that knows of Dask.

    Args:
        address: as `tcp://host:8786`.
    Raises:
        NoAnswer: nothing answers there, or the library is not installed.
    """
    try:
        from distributed import Client  # type: ignore[import-not-found, unused-ignore]
    except ImportError:
        mend = "Install it with: pip install 'loomwright[cluster]'."
        raise NoAnswer(f"the cluster {address}", ("The library distributed is not installed.", mend)) from None
    try:
        client = Client(address, timeout=_WAIT_S, set_as_default=False)  # type: ignore[no-untyped-call, unused-ignore]
    except (OSError, ValueError) as fault:
        why = f"Nothing answers there within {_WAIT_S} s, or it is no address such as tcp://host:8786 ({fault})."
        raise NoAnswer(f"the cluster {address}", (why,)) from fault
    with client:
        # what is asked has no effect beside its answer, but a piece is worked out anew each time it is asked
        yield client.get_executor(pure=False)  # type: ignore[no-untyped-call, unused-ignore]
