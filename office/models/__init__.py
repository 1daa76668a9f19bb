from .person import Person, Role

__all__ = ["Person", "Role"]
