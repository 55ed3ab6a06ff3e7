"""Small changes to a Python file: comparisons, arithmetic, constants, defaults, dropped statements."""

from __future__ import annotations

import ast
from collections.abc import Iterator

from .mutant import Mutant

Change = tuple[str, ast.AST, str]  # operator, node that is replaced, new text

BOUNDARY = {ast.Lt: "<=", ast.LtE: "<", ast.Gt: ">=", ast.GtE: ">"}
NEGATED = {
    ast.Eq: "!=",
    ast.NotEq: "==",
    ast.In: "not in",
    ast.NotIn: "in",
    ast.Is: "is not",
    ast.IsNot: "is",
}
ARITHMETIC = {ast.Add: "-", ast.Sub: "+", ast.Mult: "/", ast.Div: "*", ast.Pow: "*"}
EXTREMES = {
    "min": "max",
    "max": "min",
    "minimum": "maximum",
    "maximum": "minimum",
    "argmin": "argmax",
    "argmax": "argmin",
    "any": "all",
    "all": "any",
}
OPERATORS = (
    "boundary",
    "negation",
    "logic",
    "arithmetic",
    "constant",
    "default",
    "arguments",
    "dropped",
    "dispatch",
    "extreme",
)
_TOLERANCE = 1e-6  # smaller constants are tolerances of solvers: a hundredth more does not matter
_NOT_NUMBERS = {"revision", "max_length", "stacklevel", "repr", "slots", "frozen", "eq", "kw_only", "total"}


def code_mutants(file: str, source: str) -> list[Mutant]:
    """Every mutant of a file, in the order of its text."""
    tree = ast.parse(source)
    lines = [line.encode() for line in source.splitlines(keepends=True)]
    found = []
    for statement, change in _all_changes(tree):
        operator, node, new = change
        text = _replaced(lines, node, new)
        if text != source:
            reach, name = _reach(statement)
            found.append(Mutant(file=file, lines=reach, operator=operator, source=source, text=text, name=name))
    return found


def _all_changes(tree: ast.Module) -> Iterator[tuple[ast.stmt, Change]]:
    literals = _literals(tree)
    uncalled = {below for each in ast.walk(tree) if _is_protocol(each) for below in ast.walk(each)}
    for statement in ast.walk(tree):
        if isinstance(statement, ast.stmt) and statement not in uncalled and not _is_listing(statement):
            for change in _of_statement(statement, literals):
                yield statement, change
            for node in _own_expressions(statement):
                for change in _of_expression(node):
                    yield statement, change


def _is_protocol(node: ast.AST) -> bool:
    return isinstance(node, ast.ClassDef) and "Protocol" in {ast.unparse(base) for base in node.bases}


def _is_listing(statement: ast.stmt) -> bool:
    if isinstance(statement, ast.Assign):
        return any(isinstance(t, ast.Name) and t.id == "__all__" for t in statement.targets)
    return isinstance(statement, ast.Import | ast.ImportFrom)


def _own_expressions(statement: ast.stmt) -> Iterator[ast.AST]:
    """The expressions of a statement, without those of statements below it, annotations and defaults."""
    left: list[ast.AST] = []
    for field, value in ast.iter_fields(statement):
        if field in {"annotation", "returns", "args", "bases", "type_params", "targets", "target"}:
            continue
        left += [each for each in (value if isinstance(value, list) else [value]) if isinstance(each, ast.AST)]
    while left:
        node = left.pop(0)
        if isinstance(node, ast.stmt):
            continue
        if isinstance(node, ast.keyword) and node.arg in _NOT_NUMBERS:
            continue
        if isinstance(node, ast.JoinedStr):  # messages
            continue
        yield node
        left[:0] = ast.iter_child_nodes(node)


def _of_expression(node: ast.AST) -> Iterator[Change]:
    match node:
        case ast.Compare(left=left, ops=[op], comparators=[right]):
            if type(op) in BOUNDARY:
                yield "boundary", node, f"({ast.unparse(left)} {BOUNDARY[type(op)]} {ast.unparse(right)})"
            elif type(op) in NEGATED:
                yield "negation", node, f"({ast.unparse(left)} {NEGATED[type(op)]} {ast.unparse(right)})"
        case ast.Compare(ops=ops) if type(ops[0]) in BOUNDARY:
            yield "boundary", node, _first_end_swapped(node)
        case ast.BoolOp(op=op, values=values):
            word = " or " if isinstance(op, ast.And) else " and "
            yield "logic", node, "(" + word.join(f"({ast.unparse(each)})" for each in values) + ")"
        case ast.BinOp(left=left, op=op, right=right) if type(op) in ARITHMETIC and not _is_text(node):
            yield "arithmetic", node, f"(({ast.unparse(left)}) {ARITHMETIC[type(op)]} ({ast.unparse(right)}))"
        case ast.UnaryOp(op=ast.USub(), operand=operand) if not isinstance(operand, ast.Constant):
            yield "arithmetic", node, f"({ast.unparse(operand)})"
        case ast.UnaryOp(op=ast.Not(), operand=operand):
            yield "negation", node, f"({ast.unparse(operand)})"
        case ast.Constant(value=bool()):
            yield "constant", node, repr(not node.value)
        case ast.Constant(value=int() | float() as value) if value == 0 or abs(value) >= _TOLERANCE:
            yield "constant", node, _nudged(value)
        case ast.Call(func=ast.Name(id=name) as called) if name in EXTREMES:
            yield "extreme", called, EXTREMES[name]
        case ast.Call(func=ast.Attribute(attr=name, value=owner) as called) if name in EXTREMES:
            yield "extreme", called, f"{ast.unparse(owner)}.{EXTREMES[name]}"
        case ast.Dict(keys=keys, values=[first, second, *_]) if all(isinstance(k, ast.Constant) for k in keys):
            if ast.dump(first) != ast.dump(second):
                yield "dispatch", first, ast.unparse(second)
        case ast.keyword(arg="findings", value=ast.expr() as value):
            yield "dropped", value, "()"
    if isinstance(node, ast.Call) and len(node.args) > 1 and _told_apart(node):
        one, other = node.args[:2]
        if not isinstance(one, ast.Starred | ast.Constant) and ast.dump(one) != ast.dump(other):
            rest = [*node.args[2:], *node.keywords]
            given = ", ".join(ast.unparse(each) for each in (other, one, *rest))
            yield "arguments", node, f"{ast.unparse(node.func)}({given})"


def _told_apart(call: ast.Call) -> bool:
    """Whether the first two arguments can be told apart: a minimum is the same either way."""
    name = getattr(call.func, "attr", getattr(call.func, "id", ""))
    return name not in {*EXTREMES, "hypot", "isclose"} and not isinstance(call.args[1], ast.Starred)


def _of_statement(statement: ast.stmt, literals: dict[str, list[str]]) -> Iterator[Change]:
    match statement:
        case ast.If(test=test) | ast.While(test=test) if not isinstance(test, ast.Compare | ast.UnaryOp):
            yield "negation", test, f"not ({ast.unparse(test)})"
        case ast.Raise() | ast.Expr(value=ast.Yield() | ast.YieldFrom() | ast.Call()) | ast.AugAssign():
            yield "dropped", statement, "pass"
        case ast.FunctionDef(args=args):
            for default in (*args.defaults, *args.kw_defaults):
                if isinstance(default, ast.Constant):
                    yield from (("default", default, new) for new in _other_default(default.value))
        case ast.AnnAssign(value=ast.Constant(value=value) as node) if _words(statement.annotation, literals):
            others = [word for word in _words(statement.annotation, literals) if word != value]
            yield from (("default", node, repr(word)) for word in others[:1])
    for body in (getattr(statement, "body", []), getattr(statement, "orelse", [])):
        if isinstance(statement, ast.If) and body and isinstance(body[-1], ast.Return | ast.Continue):
            yield "dropped", body[-1], "pass"


def _other_default(value: object) -> list[str]:
    if isinstance(value, bool):
        return [repr(not value)]
    return [_nudged(value)] if isinstance(value, int | float) else []


def _nudged(value: float) -> str:
    if isinstance(value, int):
        return repr(value + 1)
    return repr(value * 1.01 if value else 0.01)


def _first_end_swapped(node: ast.Compare) -> str:
    ops = [BOUNDARY[type(node.ops[0])], *(_symbol(op) for op in node.ops[1:])]
    parts = [ast.unparse(node.left)]
    for op, right in zip(ops, node.comparators, strict=True):
        parts += [op, ast.unparse(right)]
    return f"({' '.join(parts)})"


def _symbol(op: ast.cmpop) -> str:
    return ast.unparse(ast.Compare(left=ast.Name("a"), ops=[op], comparators=[ast.Name("b")]))[2:-2]


def _is_text(node: ast.BinOp) -> bool:
    """Text and lists are joined by the same signs as numbers."""
    texts = ast.Constant, ast.JoinedStr, ast.List, ast.Tuple, ast.ListComp
    sides = (node.left, node.right)
    return any(isinstance(s, texts) and not isinstance(getattr(s, "value", None), int | float) for s in sides)


def _literals(tree: ast.Module) -> dict[str, list[str]]:
    """Words of the Literal types that a module names."""
    named = [s for s in tree.body if isinstance(s, ast.Assign) and isinstance(s.targets[0], ast.Name)]
    return {s.targets[0].id: _words(s.value, {}) for s in named if _words(s.value, {})}  # type: ignore[attr-defined]


def _words(annotation: ast.AST, literals: dict[str, list[str]]) -> list[str]:
    if isinstance(annotation, ast.Name):
        return literals.get(annotation.id, [])
    if isinstance(annotation, ast.Subscript) and ast.unparse(annotation.value) == "Literal":
        return [n.value for n in ast.walk(annotation.slice) if isinstance(n, ast.Constant)]
    return []


def _reach(statement: ast.stmt) -> tuple[tuple[int, ...], str | None]:
    """Lines whose tests run the statement; for an assignment also its name."""
    if isinstance(statement, ast.FunctionDef):  # a default: the body tells who calls
        return tuple(range(statement.body[0].lineno, (statement.end_lineno or statement.lineno) + 1)), None
    last = statement.end_lineno or statement.lineno
    if isinstance(statement, ast.If | ast.While | ast.For | ast.With | ast.Try):
        last = statement.body[0].lineno - 1
    target = statement.targets[0] if isinstance(statement, ast.Assign) else getattr(statement, "target", None)
    return tuple(range(statement.lineno, max(last, statement.lineno) + 1)), getattr(target, "id", None)


def _replaced(lines: list[bytes], node: ast.AST, new: str) -> str:
    first, last = node.lineno - 1, node.end_lineno - 1  # type: ignore[attr-defined]
    start, end = lines[first][: node.col_offset], lines[last][node.end_col_offset :]  # type: ignore[attr-defined]
    return b"".join([*lines[:first], start, new.encode(), end, *lines[last + 1 :]]).decode()
