"""Writes a session or a swimmer as TOML: the few shapes that their files have."""

from fractions import Fraction


def value_text(value):
    """One value on one line."""
    if isinstance(value, str):
        return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, Fraction):
        return decimal_text(value)
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{k} = {value_text(v)}" for k, v in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(value_text, value)) + "]"
    return str(value)


def decimal_text(value, places=9):
    """An exact decimal of at most `places` places."""
    scaled = value * 10**places
    if scaled.denominator != 1:
        raise ValueError(f"{value} is no decimal of {places} places")
    digits = f"{abs(scaled.numerator):0{places + 1}d}"
    text = f"{digits[:-places]}.{digits[-places:]}".rstrip("0")
    return ("-" if value < 0 else "") + (text + "0" if text.endswith(".") else text)


def toml_text(document):
    """A whole file: plain keys, then tables, then each [[set]]."""
    lines = [f"{k} = {value_text(v)}" for k, v in document.items() if not is_table(k)]
    for key in filter(is_table, document):
        tables = document[key] if key == "set" else [document[key]]
        for table in tables:
            lines.append(f"\n[[{key}]]" if key == "set" else f"\n[{key}]")
            lines += [f"{k} = {value_text(v)}" for k, v in table.items()]
    return "\n".join(lines) + "\n"


def is_table(key):
    return key in ("defaults", "set", "measured", "player")
