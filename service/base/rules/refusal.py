"""The error of a request that is looser than a rule of the company."""

from __future__ import annotations

from fatcore.errors import InputError, Step


class PolicyError(InputError):
    """A request that a rule of the policy does not let through; its message ends with the name of the rule."""

    def __init__(self, message: str, rule: str, policy: str, *path: Step) -> None:
        super().__init__(f"{message} (rule {rule} of the policy {policy})", *path)
        self.rule = rule
