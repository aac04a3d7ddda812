"""The one way out to the network: a GET with a deadline, a size, polite limits and bounded tries."""

from etsched.http_client.client import HttpClient, user_agent
from etsched.http_client.records import ClientLimits, RawBody, Request

__all__ = ["ClientLimits", "HttpClient", "RawBody", "Request", "user_agent"]
