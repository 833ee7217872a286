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
WEIGHT: /\/\s*[0-9.]+\s*\//
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
        parsed = _lark().parse(text)
    except UnexpectedInput as error:
        wanted = getattr(error, "expected", None) or getattr(error, "allowed", None) or ("?",)
        expected = ", ".join(sorted(wanted))
        raise GrammarError(
            f"{file}, line {error.line}, column {error.column}: this is not JSGF here:\n"
            f"{error.get_context(text).rstrip()}\nExpected one of: {expected}. Correct the file."
        ) from error
    imports: list[str] = []
    rules: dict[str, Rule] = {}
    name = str(next(t for t in parsed.children if getattr(t, "type", "") == "NAME"))
    for child in parsed.children:
        if not isinstance(child, Tree):
            continue
        if child.data == "import_":
            imports.append(str(child.children[0])[1:-1])
            continue
        rule = _rule(child, name, file)
        short = rule.name.rsplit(".", 1)[1]
        if short in rules:
            raise GrammarError(f"{file}: the rule <{short}> is defined twice. Keep one of them.")
        rules[short] = rule
    return Grammar(name=name, rules=rules, imports=tuple(imports), file=file)


def _rule(parsed: Tree[Any], grammar: str, file: str) -> Rule:
    public = getattr(parsed.children[0], "type", "") == "PUBLIC"
    short = str(parsed.children[1 if public else 0])[1:-1]
    try:
        node = _Builder().transform(parsed.children[-1])
    except VisitError as error:
        raise GrammarError(f"{file}: the rule <{short}> cannot be read: {error}.") from error
    return Rule(name=f"{grammar}.{short}", node=node, public=public)


def resolve(grammars: dict[str, Grammar]) -> dict[str, Rule]:
    """Every rule of every grammar by full name, with its references made full names.

    Raises GrammarError for a reference or import that leads nowhere.
    """
    rules = {rule.name: rule for g in grammars.values() for rule in g.rules.values()}
    resolved: dict[str, Rule] = {}
    for grammar in grammars.values():
        visible = _visible(grammar, grammars)
        for rule in grammar.rules.values():
            node = _resolved(rule.node, visible, rules, grammar)
            resolved[rule.name] = Rule(rule.name, node, rule.public)
    return resolved


def _visible(grammar: Grammar, grammars: dict[str, Grammar]) -> dict[str, str]:
    visible: dict[str, str] = {}
    for wanted in grammar.imports:
        source, _, short = wanted.rpartition(".")
        if source not in grammars:
            raise GrammarError(
                f"{grammar.file}: imports <{wanted}>, but there is no grammar '{source}' among "
                f"{', '.join(sorted(grammars))}."
            )
        for name, rule in grammars[source].rules.items():
            if rule.public and short in ("*", name):
                visible[name] = rule.name
        if short not in ("*", *visible):
            raise GrammarError(f"{grammar.file}: <{wanted}> is no public rule of '{source}'.")
    visible.update({name: rule.name for name, rule in grammar.rules.items()})
    return visible


def _resolved(
    node: Node, visible: dict[str, str], rules: dict[str, Rule], grammar: Grammar
) -> Node:
    def down(child: Node) -> Node:
        return _resolved(child, visible, rules, grammar)

    match node:
        case Ref(name=name):
            full = visible.get(name, name)
            if full not in rules:
                raise GrammarError(
                    f"{grammar.file}: <{name}> is not defined there nor imported. "
                    "Define it, or import the grammar that does."
                )
            return Ref(full)
        case tree.Seq(items=items):
            return tree.Seq(tuple(down(item) for item in items))
        case Alt(options=options, weights=weights):
            return Alt(tuple(down(option) for option in options), weights)
        case Opt(item=item):
            return Opt(down(item))
        case Repeat(item=item, at_least=at_least):
            return Repeat(down(item), at_least)
        case Tagged(item=item, tag=tag):
            return Tagged(down(item), tag)
        case _:
            return node


def inline(name: str, rules: dict[str, Rule], above: tuple[str, ...] = ()) -> Node:
    """The rule with every reference written out.

    Raises GrammarError for a rule that refers to itself: engines take finite grammars only.
    """
    if name in above:
        raise GrammarError(
            f"The rule <{name}> refers to itself by way of {' -> '.join((*above, name))}. "
            "Write the repetition with * or + instead."
        )

    def down(node: Node) -> Node:
        match node:
            case Ref(name=inner):
                return inline(inner, rules, (*above, name))
            case tree.Seq(items=items):
                return tree.Seq(tuple(down(item) for item in items))
            case Alt(options=options, weights=weights):
                return Alt(tuple(down(option) for option in options), weights)
            case Opt(item=item):
                return Opt(down(item))
            case Repeat(item=item, at_least=at_least):
                return Repeat(down(item), at_least)
            case Tagged(item=item, tag=tag):
                return Tagged(down(item), tag)
            case _:
                return node

    return down(rules[name].node)
