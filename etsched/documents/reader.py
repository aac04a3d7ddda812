"""How one entry of a file is read, told to pydantic once: what it accepts and its part of the schema."""

from __future__ import annotations

from abc import ABC, abstractmethod
from typing import Any

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, core_schema

Json = dict[str, Any]


class Reader(ABC):
    """A marker for `Annotated`: it reads what the file holds, or refuses it with a sentence."""

    __slots__ = ()

    @abstractmethod
    def read(self, raw: object) -> object:
        """Give the value of what the file holds, or raise what `refuse` gives."""

    @abstractmethod
    def schema(self) -> Json:
        """Give the JSON Schema of what is accepted."""

    def __get_pydantic_core_schema__(self, source: object, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> Json:
        return self.schema()
