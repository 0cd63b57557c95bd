"""The files that people write, against the schemas that the program prints, by another validator."""

import tomllib

import jsonschema
import pytest
from program import TOP

FILES = {
    "floor-design": sorted((TOP / "assets" / "demo").glob("*.toml")),
    "plan-of-work": [TOP / "assets" / "hold-points.toml"],
    "limits": [TOP / "assets" / "limits.toml"],
}


@pytest.mark.parametrize("name", FILES)
def test_shipped_files_follow_their_schema(tablet, name):
    ran = tablet.run("schema", name)
    assert ran.code == 0, ran
    schema = ran.json()
    jsonschema.Draft202012Validator.check_schema(schema)
    assert "2020-12" in schema["$schema"]
    validator = jsonschema.Draft202012Validator(schema)
    assert FILES[name]
    for file in FILES[name]:
        document = tomllib.loads(file.read_text())
        assert [e.message for e in validator.iter_errors(document)] == [], file
        # A key that nobody knows is not passed over.
        assert list(validator.iter_errors(document | {"colour": 1})), file


def test_no_limit_of_the_trade_stands_without_a_source():
    document = tomllib.loads((TOP / "assets" / "limits.toml").read_text())
    for name, limit in document["limits"].items():
        assert limit["source"].strip() and limit["known"].strip(), name
    plan = tomllib.loads((TOP / "assets" / "hold-points.toml").read_text())
    for hold_point in plan["hold_points"]:
        for criterion in hold_point["criteria"]:
            assert criterion["source"].strip(), (hold_point["id"], criterion["id"])


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completion_is_printed(tablet, shell):
    ran = tablet.run("completion", shell)
    assert ran.code == 0 and "sign-off" in ran.out, ran


@pytest.mark.parametrize("command", ["", "reckon", "demo", "new", "enrol", "enter", "status", "sign-off", "verify", "check", "schema", "completion"])
def test_help_is_there_for_every_command(tablet, command):
    ran = tablet.run(*([command] if command else []), "--help")
    assert ran.code == 0 and len(ran.out) > 200, ran
