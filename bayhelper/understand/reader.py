"""Reads JSpeech Grammar Format (W3C Note, 5 June 2000) into the tree."""

from __future__ import annotations

from functools import cache
from typing import Any

from lark import Lark, Transformer, Tree
from lark.exceptions import UnexpectedInput, VisitError

from bayhelper.terms.errors import GrammarError
from bayhelper.understand import tree
from bayhelper.understand.tree import Alt, Grammar, Node, Opt, Ref, Repeat, Rule, Tagged, Word

SYNTAX = r"""
start: HEADER? "grammar" NAME ";" import_* rule*
import_: "import" RULENAME ";"
rule: PUBLIC? RULENAME "=" alternatives ";"
alternatives: alternative ("|" alternative)*
alternative: WEIGHT? item+
item: atom REPEAT? TAG*
?atom: WORD -> word
     | QUOTED -> quoted
     | RULENAME -> ref
     | "(" alternatives ")" -> group
     | "[" alternatives "]" -> optional

HEADER: /#JSGF[^;\n]*;?/
PUBLIC: "public"
NAME: /[^\s;<>]+/
RULENAME: /<[^<>\s]+>/
WEIGHT: /\/\s*([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]+)?\s*\//
REPEAT: "*" | "+"
TAG: /\{(\\.|[^{}\\])*\}/
QUOTED: /"(\\.|[^"\\])*"/
WORD: /[^\s;=|*+<>()\[\]{}\/"]+/
LINE_COMMENT: /\/\/[^\n]*/
BLOCK_COMMENT: /\/\*(.|\n)*?\*\//

%import common.WS
%ignore WS
%ignore LINE_COMMENT
%ignore BLOCK_COMMENT
"""
"""The format's grammar in that of the parser, by the W3C Note."""

SIGNS = {
    "HEADER": "#JSGF V1.0;",
    "GRAMMAR": "the word grammar",
    "IMPORT": "the word import",
    "PUBLIC": "the word public",
    "NAME": "a name",
    "RULENAME": "<a rule>",
    "WEIGHT": "/a weight/",
    "WORD": "a word",
    "QUOTED": '"words"',
    "REPEAT": "* or +",
    "TAG": "{a tag}",
    "LPAR": "(",
    "RPAR": ")",
    "LSQB": "[",
    "RSQB": "]",
    "VBAR": "|",
    "EQUAL": "=",
    "SEMICOLON": ";",
    "$END": "the end of the file",
}
"""How the parser's terminals look in a file."""


@cache
def _lark() -> Lark:
    return Lark(SYNTAX, parser="lalr", lexer="contextual", propagate_positions=True)


class _Builder(Transformer[Any, Any]):
    """Turns the parser's tree into ours."""

    def word(self, children: list[Any]) -> Node:
        return Word(str(children[0]).lower())

    def quoted(self, children: list[Any]) -> Node:
        words = str(children[0])[1:-1].replace('\\"', '"').lower().split()
        return tree.seq(*(Word(word) for word in words))

    def ref(self, children: list[Any]) -> Node:
        name = str(children[0])[1:-1]
        known: dict[str, Node] = {"NULL": tree.NULL, "VOID": tree.VOID}
        return known.get(name, Ref(name))

    def group(self, children: list[Any]) -> Node:
        node: Node = children[0]
        return node

    def optional(self, children: list[Any]) -> Node:
        return Opt(children[0])

    def item(self, children: list[Any]) -> Node:
        node: Node = children[0]
        for token in children[1:]:
            if token.type == "REPEAT":
                node = Repeat(node, 0 if token == "*" else 1)
            else:
                node = Tagged(node, str(token)[1:-1].replace("\\", "").strip())
        return node

    def alternative(self, children: list[Any]) -> tuple[float | None, Node]:
        weight = None
        if getattr(children[0], "type", "") == "WEIGHT":
            weight = float(str(children.pop(0)).strip("/ \t"))
        return weight, tree.seq(*children)

    def alternatives(self, children: list[Any]) -> Node:
        nodes = tuple(node for _, node in children)
        weights = tuple(weight for weight, _ in children if weight is not None)
        if len(nodes) == 1:
            only: Node = nodes[0]
            return only
        return Alt(nodes, weights if len(weights) == len(nodes) else ())


def read_grammar(text: str, file: str) -> Grammar:
    """One JSGF text.

    Raises GrammarError with file, line, column, what was expected and what came.
    """
    try:
        parsed = _lark().parse(text.removeprefix("\ufeff"))
    except UnexpectedInput as error:
        raise GrammarError(_complaint(error, text, file)) from error
    name = str(next(t for t in parsed.children if getattr(t, "type", "") == "NAME"))
    places: dict[str, tuple[int, int]] = {}
    for token in parsed.scan_values(lambda t: getattr(t, "type", "") == "RULENAME"):
        places.setdefault(str(token)[1:-1], (token.line or 1, token.column or 1))
    imports: list[str] = []
    rules: dict[str, Rule] = {}
    for child in parsed.children:
        if not isinstance(child, Tree):
            continue
        if child.data == "import_":
            imports.append(str(child.children[0])[1:-1])
            continue
        rule = _rule(child, name, file)
        short = rule.name.removeprefix(f"{name}.")
        if short in rules:
            raise GrammarError(
                f"{file}, line {child.meta.line}: the rule <{short}> is defined twice. "
                "Keep one of them."
            )
        rules[short] = rule
    return Grammar(name, rules, tuple(imports), file, places)


def _complaint(error: UnexpectedInput, text: str, file: str) -> str:
    """Where, what came, and what was expected, in the signs of the format."""
    wanted = getattr(error, "expected", None) or getattr(error, "allowed", None) or set()
    expected = ", ".join(sorted({SIGNS.get(name, name) for name in wanted}))
    line, column = error.line, error.column
    if line < 1:
        line, column = text.count("\n") + 1, len(text.rpartition("\n")[2]) + 1
        context = "(the file ends here)"
    else:
        context = error.get_context(text).rstrip()
    return (
        f"{file}, line {line}, column {column}: this is not JSGF here:\n{context}\n"
        f"Expected one of: {expected}. Correct the file."
    )


def _rule(parsed: Tree[Any], grammar: str, file: str) -> Rule:
    public = getattr(parsed.children[0], "type", "") == "PUBLIC"
    short = str(parsed.children[1 if public else 0])[1:-1]
    try:
        node = _Builder().transform(parsed.children[-1])
    except VisitError as error:
        raise GrammarError(f"{file}: the rule <{short}> cannot be read: {error}.") from error
    return Rule(name=f"{grammar}.{short}", node=node, public=public)
