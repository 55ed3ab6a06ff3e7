"""What commands share whose work is done by several machines: a part of it, or a cluster."""

from __future__ import annotations

import argparse
from contextlib import AbstractContextManager

from ..base.problems import Problem
from ..jobs.cluster import on_cluster
from ..jobs.in_order import Each
from ..jobs.shard import Shard, shard_of
from .remote import workers
from .texts.parser import FileBeside


def add_shard(command: argparse.ArgumentParser, what: str) -> None:
    """Adds the option of a part; what: there is of it."""
    text = f"do one part of so many of the {what}, such as 2/5: which are in it follows from their names alone"
    command.add_argument("--shard", metavar="K/N", help=text)


def chosen_shard(given: argparse.Namespace) -> Shard | None:
    """The part that the command line asks for, None for everything."""
    return None if given.shard is None else shard_of(given.shard)


def add_parts(command: argparse.ArgumentParser) -> None:
    """Adds the options of a gate whose checks are done in parts, and of the parts of its baseline."""
    add_shard(command, "checks")
    part = "with --shard and --write-baseline: store the state of the part in this file, and leave the baseline"
    command.add_argument("--part", type=FileBeside, metavar="FILE", help=part)
    merge = "the files are the parts of all shards: put them together in the baseline; nothing is calculated"
    command.add_argument("--merge", action="store_true", help=merge)


def guard_parts(given: argparse.Namespace) -> None:
    """Refuses options of parts that do not go together."""
    if given.merge and given.baseline is None:
        raise Problem(400, "--merge needs --baseline FILE")
    if given.merge and any((given.shard, given.part, given.write_baseline, given.accept)):
        raise Problem(400, "--merge goes with --baseline alone")
    if given.part is not None and not (given.shard and given.write_baseline):
        raise Problem(400, "--part FILE goes with --shard and --write-baseline")
    if given.shard and given.write_baseline and given.part is None:
        raise Problem(400, "--write-baseline with --shard needs --part FILE: the baseline is put together by --merge")
    if given.shard and given.accept:
        raise Problem(400, "--accept goes without --shard")


def add_cluster(command: argparse.ArgumentParser) -> None:
    """Adds the option of a cluster."""
    text = "have the items calculated by the Dask cluster whose scheduler has this address (extra distributed)"
    command.add_argument("--dask", metavar="ADDRESS", help=text)


def workers_or_cluster(given: argparse.Namespace, tasks: int) -> AbstractContextManager[Each]:
    """What works off so many tasks: workers of this machine, or those of a cluster."""
    if given.dask is None:
        return workers(given, tasks)
    if given.server is not None or given.jobs != 1:
        raise Problem(400, "--dask goes without --server and --jobs: the cluster has its own workers")
    return on_cluster(given.dask)
