"""Schemathesis tries every call with what the OpenAPI document allows and with what it does not.

Nothing may break the server, and every answer must be one that the document describes.
"""

from typing import Any

import schemathesis
from hypothesis import HealthCheck, Phase, settings
from schemathesis.checks import not_a_server_error
from schemathesis.config import SchemathesisConfig
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    ignored_auth,
    negative_data_rejection,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
    unsupported_method,
)

from tests.api.schema_app import KEY, make_app

# The key is sent by the test; a made-up one would only ever be refused.
CONFIG = SchemathesisConfig.from_dict({"generation": {"with-security-parameters": False}})
schema = schemathesis.openapi.from_asgi("/api/openapi.json", make_app(), config=CONFIG)
CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    negative_data_rejection,
    ignored_auth,
    unsupported_method,
]


@schema.parametrize()
@settings(
    max_examples=8,
    derandomize=True,
    deadline=None,
    database=None,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=list(HealthCheck),
)
def test_every_call_keeps_to_its_description(case: schemathesis.Case[Any]) -> None:
    case.call_and_validate(checks=CHECKS, headers={"Authorization": f"Bearer {KEY}"})
