"""The platform's part of the API: who I am, work in progress, members, who did what."""

from uuid import UUID

from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from studio.platform.api.base import HouseView, etag
from studio.platform.api.filters import AuditFilter, JobFilter
from studio.platform.api.serializers import AuditOut, JobOut, MemberOut, MeOut, NothingIn, StudioIn, StudioOut
from studio.platform.queries import audit, jobs, people
from studio.platform.rights import RIGHTS, Right
from studio.platform.services import jobs as job_services
from studio.platform.services.studios import change_studio

ME = OpenApiExample(
    "an instructor",
    {
        "member": "0199d2a0-0000-7000-8000-000000000001",
        "studio": "0199d2a0-0000-7000-8000-000000000000",
        "name": "Marit Sandoval",
        "role": "instructor",
        "rights": ["find clients", "read body measurements"],
    },
)


class Me(HouseView):
    serializer_class = MeOut
    rights = {"GET": Right.SEE_JOBS}

    @extend_schema(operation_id="me", examples=[ME], responses=MeOut, tags=["house"])
    def get(self, request: Request) -> Response:
        actor = self.actor
        return Response(
            {
                "member": str(actor.member_id),
                "studio": str(actor.studio_id),
                "name": actor.name,
                "role": actor.role,
                "rights": sorted(right.value for right in RIGHTS[actor.role]),
            }
        )


class Studio(HouseView):
    serializer_class = StudioOut
    rights = {"GET": Right.SEE_JOBS, "PATCH": Right.KEEP_STUDIO}

    @extend_schema(operation_id="studio_get", responses=StudioOut, tags=["house"])
    def get(self, request: Request) -> Response:
        """What the studio says of itself, with the ETag that a change needs."""
        studio = people.studio_get(self.actor)
        return Response(StudioOut(studio).data, headers={"ETag": etag(studio)})

    @extend_schema(operation_id="studio_change", request=StudioIn, responses=StudioOut, tags=["house"])
    def patch(self, request: Request) -> Response:
        """Change what is given and nothing else; what was issued keeps the name and colour that it had."""
        studio = change_studio(self.actor, expected_version=self.expected_version(), **self.typed(StudioIn))
        return Response(StudioOut(studio).data, headers={"ETag": etag(studio)})


class Jobs(HouseView):
    serializer_class = JobOut
    filterset_class = JobFilter
    rights = {"GET": Right.SEE_JOBS}

    @extend_schema(operation_id="jobs_list", responses=JobOut(many=True), tags=["jobs"])
    def get(self, request: Request) -> Response:
        """Long work, newest first."""
        return self.page_of(jobs.job_list(self.actor), JobOut)


class Job(HouseView):
    serializer_class = JobOut
    rights = {"GET": Right.SEE_JOBS}

    @extend_schema(operation_id="job_get", responses=JobOut, tags=["jobs"])
    def get(self, request: Request, job_id: UUID) -> Response:
        """One job: its state, how far it has come, why it failed."""
        return Response(JobOut(jobs.job_get(self.actor, job_id)).data)


class CancelJob(HouseView):
    serializer_class = JobOut
    rights = {"POST": Right.SEE_JOBS}

    @extend_schema(operation_id="job_cancel", request=NothingIn, responses=JobOut, tags=["jobs"])
    def post(self, request: Request, job_id: UUID) -> Response:
        """Stop a job that has not ended."""
        return Response(JobOut(job_services.cancel_job(self.actor, job_id)).data)


class RetryJob(HouseView):
    serializer_class = JobOut
    rights = {"POST": Right.SEE_JOBS}

    @extend_schema(operation_id="job_retry", request=NothingIn, responses=JobOut, tags=["jobs"])
    def post(self, request: Request, job_id: UUID) -> Response:
        """Start a failed or cancelled job afresh."""
        return Response(JobOut(job_services.retry_job(self.actor, job_id)).data)


class Members(HouseView):
    serializer_class = MemberOut
    rights = {"GET": Right.KEEP_MEMBERS}

    @extend_schema(operation_id="members_list", responses=MemberOut(many=True), tags=["house"])
    def get(self, request: Request) -> Response:
        """Who works here."""
        return self.page_of(people.member_list(self.actor).order_by("-id"), MemberOut)


class Audit(HouseView):
    serializer_class = AuditOut
    filterset_class = AuditFilter
    rights = {"GET": Right.READ_AUDIT}

    @extend_schema(operation_id="audit_list", responses=AuditOut(many=True), tags=["house"])
    def get(self, request: Request) -> Response:
        """Who did what, newest first."""
        return self.page_of(audit.audit_list(self.actor), AuditOut)
