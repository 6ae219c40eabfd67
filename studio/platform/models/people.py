"""Who signs in, and where: users, studios, members, tokens, one-time links."""

from typing import Any, ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.db.models.functions import Lower

from studio.platform.choices import LANGUAGES
from studio.platform.colour import HOUSE_COLOUR
from studio.platform.database.constraints import StudioPolicy, tenant_rules
from studio.platform.models.base import HouseModel, TenantModel, Versioned, new_id, reference


class UserManager(BaseUserManager["User"]):
    def get_by_natural_key(self, username: str | None) -> "User":
        return self.get(email=self.normalize_email(username))

    @classmethod
    def normalize_email(cls, email: str | None) -> str:
        """Small letters throughout: mail systems that tell capitals apart are not met in practice."""
        return super().normalize_email(email).strip().lower()


class User(AbstractBaseUser):
    """A person who signs in by email. What she may do is her membership's matter, never the user's."""

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    email = models.EmailField(max_length=254, unique=True)  # always in small letters, see normalize_email
    name = models.CharField(max_length=120)
    is_active = models.BooleanField(default=True)
    created_at = models.DateTimeField(auto_now_add=True)

    USERNAME_FIELD = "email"
    REQUIRED_FIELDS: ClassVar[list[str]] = ["name"]

    objects = UserManager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(email=Lower("email")), name="user_email_small_letters")
        ]

    def __str__(self) -> str:
        return self.name


class SetupLink(HouseModel):
    """The one-time link by which a new installation's owner makes her account."""

    secret_hash = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField(auto_now_add=True)
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True, blank=True)


class Studio(Versioned, HouseModel):
    """One school or shop. Everything else belongs to exactly one."""

    STUDIO_FIELD = "id"

    name = models.CharField(max_length=120)
    address = models.TextField(max_length=500, blank=True)
    time_zone = models.CharField(max_length=64, default="Europe/London")
    unit = models.CharField(max_length=2, choices=[("cm", "centimetres"), ("in", "inches")], default="cm")
    colour = models.CharField(
        max_length=7, default=HOUSE_COLOUR, db_default=HOUSE_COLOUR
    )  # see platform.colour
    language = models.CharField(
        max_length=8, choices=LANGUAGES, default="en", db_default="en"
    )  # of what clients read, where a client says nothing else
    ease_set = models.CharField(max_length=64, blank=True)
    keep_months = models.PositiveSmallIntegerField(
        null=True, blank=True
    )  # how long a client is kept after the last act
    # Whether everybody here signs in with a second step, or each as she likes.
    second_step_required = models.BooleanField(default=False, db_default=False)
    created_at = models.DateTimeField(auto_now_add=True)
    # Where the studio is found since it went to another database; nobody works in it here any more.
    moved_to = models.URLField(max_length=200, blank=True, default="", db_default="", editable=False)

    class Meta:
        constraints = [
            StudioPolicy(name="studio_itself", column="id", door_reads=True),
            models.CheckConstraint(
                condition=models.Q(colour__regex=r"^#[0-9a-f]{6}$"), name="studio_colour_hex"
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Member(TenantModel):
    """A person who works in a studio, in one role."""

    class Role(models.TextChoices):
        OWNER = "owner", "Owner"
        INSTRUCTOR = "instructor", "Instructor"
        CLERK = "clerk", "Clerk"

    user = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    name = models.CharField(max_length=120)
    role = models.CharField(max_length=16, choices=Role.choices)
    active = models.BooleanField(default=True)
    joined_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            *tenant_rules("member", door_reads=True),
            models.UniqueConstraint(fields=["studio", "user"], name="member_once_per_studio"),
        ]

    def __str__(self) -> str:
        return self.name


class Invitation(TenantModel):
    """A one-time link by which somebody joins a studio in a role."""

    name = models.CharField(max_length=120)
    email = models.EmailField(max_length=254)
    role = models.CharField(max_length=16, choices=Member.Role.choices)
    invited_by = reference("platform.Member")
    made_at = models.DateTimeField(auto_now_add=True)
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = tenant_rules("invitation", refers_to=["invited_by"])


class ApiToken(TenantModel):
    """A key for programs: acts as one member. Only its hash is kept; the key is shown once."""

    member = reference("platform.Member")
    name = models.CharField(max_length=80)
    secret_hash = models.CharField(
        max_length=64, unique=True
    )  # unguessable, so no studio can learn of another's
    made_at = models.DateTimeField(auto_now_add=True)
    expires_at = models.DateTimeField(null=True, blank=True)
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = tenant_rules("apitoken", refers_to=["member"], door_reads=True)


def role_words() -> dict[str, Any]:
    return dict(Member.Role.choices)
