"""Which faults are put into a file: Cosmic Ray's operators, and two of our own for what decides exact ends.

Left out, because any test notices them and they would only sweeten the score: arithmetic replaced by far-fetched
arithmetic (shifts, powers), `is` for `==`, decorators taken away, anything in annotations.
"""

import ast
from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass

import parso
from cosmic_ray.ast import ast_nodes, get_ast
from cosmic_ray.mutating import MutationVisitor
from cosmic_ray.operators.operator import Example, Operator
from cosmic_ray.plugins import get_operator

__all__ = ["Mutation", "mutations_of"]

_BINARY = {
    "Add": ("Sub", "Mul"),
    "Sub": ("Add", "Mul"),
    "Mul": ("Div", "Add"),
    "Div": ("Mul", "Sub"),
    "Pow": ("Mul", "Add"),
    "BitAnd": ("BitOr", "BitXor"),
    "BitOr": ("BitAnd", "BitXor"),
}
_COMPARISON = {
    "Lt": ("LtE", "GtE"),
    "LtE": ("Lt", "Gt"),
    "Gt": ("GtE", "LtE"),
    "GtE": ("Gt", "Lt"),
    "Eq": ("NotEq",),
    "NotEq": ("Eq",),
    "Is": ("IsNot",),
    "IsNot": ("Is",),
}
_PLAIN = (
    "AddNot",
    "NumberReplacer",
    "ReplaceAndWithOr",
    "ReplaceOrWithAnd",
    "ReplaceTrueWithFalse",
    "ReplaceFalseWithTrue",
    "ReplaceBreakWithContinue",
    "ReplaceContinueWithBreak",
    "ReplaceUnaryOperator_Delete_Invert",
    "ReplaceUnaryOperator_Delete_Not",
    "ReplaceUnaryOperator_Delete_USub",
    "ZeroIterationForLoop",
)
_OTHER_SIDE = {'"left"': '"right"', '"right"': '"left"'}
_OTHER_END = {
    one: other
    for pair in (("min", "max"), ("minimum", "maximum"), ("argmin", "argmax"), ("any", "all"))
    for one, other in (pair, pair[::-1])
}


class _Replace(Operator):
    """Replace one leaf of the program by another."""

    by: dict[str, str]

    def mutation_positions(self, node: parso.tree.NodeOrLeaf) -> Iterator[tuple[tuple[int, int], tuple[int, int]]]:
        """Yield where a leaf can be replaced."""
        if isinstance(node, parso.tree.Leaf) and node.value in self.by:
            yield node.start_pos, node.end_pos

    def mutate(self, node: parso.tree.Leaf, index: int) -> parso.tree.Leaf:
        """Replace the leaf."""
        assert index == 0
        node.value = self.by[node.value]
        return node

    @classmethod
    def examples(cls) -> tuple[Example, ...]:
        """Return what it does to each word that it knows."""
        return tuple(Example(f"x({one})", f"x({other})") for one, other in cls.by.items())


class ReplaceSide(_Replace):
    """Search an array from the other side: the reading at the very instant falls on the other side of the cut."""

    by = _OTHER_SIDE


class ReplaceEnd(_Replace):
    """Take the other end: the coldest for the warmest, the latest for the earliest, any for all."""

    by = _OTHER_END


def _operators() -> dict[str, Operator]:
    names = list(_PLAIN)
    for kind, table in (("Binary", _BINARY), ("Comparison", _COMPARISON)):
        word = f"Replace{kind}Operator_"
        names += [f"{word}{one}_{other}" for one, others in table.items() for other in others]
    found: dict[str, Operator] = {name: get_operator(f"core/{name}")() for name in names}
    return {**found, "ReplaceSide": ReplaceSide(), "ReplaceEnd": ReplaceEnd()}


OPERATORS = _operators()


@dataclass(frozen=True)
class Mutation:
    """One small fault in one file."""

    path: str
    """Below the root of the project."""
    where: str
    """The function, method or constant that it is in."""
    kind: str
    """In the ``body`` of a function, in a ``constant`` of the module, or ``outside`` both."""
    lines: tuple[int, int]
    """The first and last line of its statement, or of the head of a compound one."""
    operator: str
    occurrence: int

    def code(self, source: str) -> str:
        """Return the source with the fault in it."""
        mutated = MutationVisitor.mutate_code(source, OPERATORS[self.operator], self.occurrence)
        assert isinstance(mutated, str), self
        return mutated

    def shown(self, source: str) -> tuple[str, str]:
        """Return the line as it is and as it becomes, each without more spaces than words need."""
        mutated = self.code(source)
        shorter = min(len(source), len(mutated))
        first = next((n for n in range(shorter) if source[n] != mutated[n]), shorter)
        room = shorter - first
        same = next((n for n in range(room) if source[-1 - n] != mutated[-1 - n]), room)
        begins, ends = source.rfind("\n", 0, first) + 1, source.find("\n", len(source) - same)
        after = source[begins:first] + mutated[first : len(mutated) - same] + source[len(source) - same : ends]
        return " ".join(source[begins:ends].split()), " ".join(after.split())


def mutations_of(path: str, source: str) -> list[Mutation]:
    """Return every fault that can be put into a file."""
    places = _Places(source)
    nodes = list(ast_nodes(get_ast(source)))
    found = []
    for name, operator in OPERATORS.items():
        occurrence = 0
        for node in nodes:
            for start, _ in operator.mutation_positions(node):
                place = None if node.parent.type == "parameters" else places.at(*start)
                if place is not None:
                    found.append(Mutation(path, *place, name, occurrence))
                occurrence += 1
    return found


class _Places:
    """Tells of a position in a file what stands there."""

    def __init__(self, source: str) -> None:
        self._text = source.splitlines()
        tree = ast.parse(source)
        self._unasked = [self._span(node) for node in _annotations(tree)]
        self._parts = list(self._parts_of(tree.body, ""))
        heads = sorted((node.lineno, _head_ends(node)) for node in ast.walk(tree) if isinstance(node, ast.stmt))
        self._first = [first for first, _ in heads]
        self._heads = heads

    def at(self, line: int, column: int) -> tuple[str, str, tuple[int, int]] | None:
        """Return name, kind and lines of the place, or ``None`` in an annotation or a decorator."""
        here = line, column
        if any(first <= here < last for first, last in self._unasked):
            return None
        where, kind = next(
            ((name, kind) for name, kind, span in self._parts if span[0] <= here < span[1]), ("", "outside")
        )
        return where, kind, self._heads[bisect_right(self._first, line) - 1]

    def _span(self, node: ast.AST, last: ast.AST | None = None) -> tuple[tuple[int, int], tuple[int, int]]:
        last = last or node
        ends = (last.end_lineno, self._column(last.end_lineno, last.end_col_offset))
        return (node.lineno, self._column(node.lineno, node.col_offset)), ends

    def _column(self, line: int, offset: int) -> int:
        """Return the column in characters of one in bytes."""
        return len(self._text[line - 1].encode()[:offset].decode())

    def _parts_of(
        self, body: list[ast.stmt], of: str
    ) -> Iterator[tuple[str, str, tuple[tuple[int, int], tuple[int, int]]]]:
        for node in body:
            if isinstance(node, ast.FunctionDef):
                yield of + node.name, "body", self._span(node.body[0], node.body[-1])
                yield of + node.name, "outside", self._span(node)
            elif isinstance(node, ast.ClassDef):
                yield from self._parts_of(node.body, f"{of}{node.name}.")
                yield of + node.name, "outside", self._span(node)
            elif isinstance(node, ast.Assign) and not of:
                yield ast.unparse(node.targets[0]), "constant", self._span(node)


def _annotations(tree: ast.Module) -> Iterator[ast.AST]:
    for node in ast.walk(tree):
        if isinstance(node, ast.arg | ast.AnnAssign) and node.annotation is not None:
            yield node.annotation
        elif isinstance(node, ast.FunctionDef) and node.returns is not None:
            yield node.returns
        elif isinstance(node, ast.ImportFrom | ast.Import):
            yield node
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            yield from node.decorator_list
    for node in tree.body:  # a name for a type is an annotation too
        if isinstance(node, ast.Assign) and isinstance(node.value, ast.Subscript):
            yield node


def _head_ends(node: ast.stmt) -> int:
    """Return the last line of a statement, without the statements inside it."""
    inside = getattr(node, "body", None)
    return max(node.lineno, inside[0].lineno - 1) if inside else node.end_lineno or node.lineno
