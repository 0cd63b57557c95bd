"""Evaluates the `formula` of a working's step, which is arithmetic in numbers, and nothing else."""

import ast
import math
import operator
import re

SIGNS = {"−": "-", "–": "-", "×": "*", "·": "*", "÷": "/", "²": "**2", "³": "**3", "^": "**", "√": "sqrt", "π": "pi", "Φ": "phi", "[": "(", "]": ")"}
BINARY = {ast.Add: operator.add, ast.Sub: operator.sub, ast.Mult: operator.mul, ast.Div: operator.truediv, ast.Pow: operator.pow}
FUNCTIONS = {
    "sqrt": math.sqrt, "abs": abs, "max": max, "min": min, "ln": math.log, "exp": math.exp,
    "phi": lambda z: 0.5 * math.erfc(-z / math.sqrt(2)), "round": lambda x: math.copysign(math.floor(abs(x) + 0.5 + 1e-6), x), "floor": math.floor, "ceil": math.ceil,
    "sum": lambda *x: math.fsum(x),
}


def evaluate(formula: str) -> float:
    text = formula
    for sign, plain in SIGNS.items():
        text = text.replace(sign, plain)
    text = re.sub(r"\|([^|]+)\|", r"abs(\1)", text)
    text = re.sub(r"sqrt\s*([0-9.]+)", r"sqrt(\1)", text)
    text = re.sub(r"(?<=\d) (?=\d{3}\b)", "", text)
    return walk(ast.parse(text.strip(), mode="eval").body)


def walk(node):
    if isinstance(node, ast.Constant) and isinstance(node.value, (int, float)):
        return node.value
    if isinstance(node, ast.BinOp) and type(node.op) in BINARY:
        return BINARY[type(node.op)](walk(node.left), walk(node.right))
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, (ast.USub, ast.UAdd)):
        value = walk(node.operand)
        return -value if isinstance(node.op, ast.USub) else value
    if isinstance(node, ast.Name) and node.id == "pi":
        return math.pi
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in FUNCTIONS:
        return FUNCTIONS[node.func.id](*[walk(a) for a in node.args])
    raise ValueError(f"no arithmetic: {ast.dump(node)[:80]}")
