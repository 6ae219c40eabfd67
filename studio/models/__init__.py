from studio.models.client import Client, ClientSearch, Consent
from studio.models.measuring import Measuring, Reading

__all__ = ["Client", "ClientSearch", "Consent", "Measuring", "Reading"]
