#!/bin/sh
# Stops a change of a design that makes a weld worse or loosens a rule of its check. Runs in the design's repository, in any pipeline that has a shell.
# Checks lie in checks/, their accepted state in checks/accepted.json (written by: toeline gate checks --baseline
# checks/accepted.json --write-baseline). TOELINE_URL, when set, is a running service that calculates instead.
set -u
mkdir -p gate-report
set -- checks --baseline checks/accepted.json --growth-pct 2 \
    --junit gate-report/welds.xml --markdown gate-report/welds.md
[ -z "${TOELINE_URL:-}" ] || set -- "$@" --server "$TOELINE_URL"
code=0
toeline gate "$@" || code=$?
case $code in
    0) echo "welds: no line is over its limit, none got worse by more than 2 %, the rules are as accepted" ;;
    1) echo "welds: a line failed, is undecided, got worse, or a rule changed; see gate-report/welds.md" >&2 ;;
    2) echo "welds: a check file or an option was refused" >&2 ;;
    3) echo "welds: the service gave no answer; run the job again" >&2 ;;
esac
exit $code
