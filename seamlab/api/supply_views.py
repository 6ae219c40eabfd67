"""Threads, needles, machines and the stitch types, in the API."""

from uuid import UUID

from django.urls import reverse
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from seamlab.api import supply_serializers as shapes
from seamlab.api.base import HIDDEN, KEEPS, READS, asked, with_hidden
from seamlab.queries import supplies as queries
from seamlab.queries.tables import stitch_types
from seamlab.services import supplies as services
from studio.platform.api.base import HouseView, etag
from studio.platform.rights import Right

CHANGES = {"GET": Right.READ_SEAMS, "PATCH": Right.KEEP_SEAMS}


class Threads(HouseView):
    serializer_class = shapes.ThreadOut
    rights = KEEPS

    @extend_schema(operation_id="threads_list", responses=shapes.ThreadOut(many=True), parameters=[HIDDEN])
    def get(self, request: Request) -> Response:
        """Threads, the last recorded first."""
        rows = queries.thread_list(self.actor, with_hidden=with_hidden(request))
        return self.page_of(rows, shapes.ThreadOut)

    @extend_schema(operation_id="thread_record", request=shapes.ThreadIn, responses={201: shapes.ThreadOut})
    def post(self, request: Request) -> Response:
        """Record a thread by its number in any system; its tex is kept."""
        made = services.record_thread(self.actor, **self.typed(shapes.ThreadIn))
        thread = queries.thread_get(self.actor, made.pk)
        return self.created(shapes.ThreadOut(thread).data, reverse("api-thread", args=[thread.pk]), thread)


class Thread(HouseView):
    serializer_class = shapes.ThreadOut
    rights = CHANGES

    @extend_schema(operation_id="thread_get", responses=shapes.ThreadOut)
    def get(self, request: Request, thread_id: UUID) -> Response:
        """One thread, and the ETag that a change needs."""
        return self._answer_with(thread_id)

    @extend_schema(operation_id="thread_change", request=shapes.ThreadChangeIn, responses=shapes.ThreadOut)
    def patch(self, request: Request, thread_id: UUID) -> Response:
        """Change what is given and nothing else; is_hidden puts it away."""
        expected = self.expected_version()
        changes = self.typed(shapes.ThreadChangeIn)
        services.change_thread(self.actor, thread_id, changes=changes, expected_version=expected)
        return self._answer_with(thread_id)

    def _answer_with(self, thread_id: UUID) -> Response:
        thread = queries.thread_get(self.actor, thread_id)
        return Response(shapes.ThreadOut(thread).data, headers={"ETag": etag(thread)})


class Needles(HouseView):
    serializer_class = shapes.NeedleOut
    rights = KEEPS

    @extend_schema(operation_id="needles_list", responses=shapes.NeedleOut(many=True), parameters=[HIDDEN])
    def get(self, request: Request) -> Response:
        """Needles, the last recorded first."""
        rows = queries.needle_list(self.actor, with_hidden=with_hidden(request))
        return self.page_of(rows, shapes.NeedleOut)

    @extend_schema(operation_id="needle_record", request=shapes.NeedleIn, responses={201: shapes.NeedleOut})
    def post(self, request: Request) -> Response:
        """Record a needle by either of its numbers."""
        made = services.record_needle(self.actor, **self.typed(shapes.NeedleIn))
        needle = queries.needle_get(self.actor, made.pk)
        return self.created(shapes.NeedleOut(needle).data, reverse("api-needle", args=[needle.pk]), needle)


class Needle(HouseView):
    serializer_class = shapes.NeedleOut
    rights = CHANGES

    @extend_schema(operation_id="needle_get", responses=shapes.NeedleOut)
    def get(self, request: Request, needle_id: UUID) -> Response:
        """One needle, and the ETag that a change needs."""
        return self._answer_with(needle_id)

    @extend_schema(operation_id="needle_change", request=shapes.NeedleChangeIn, responses=shapes.NeedleOut)
    def patch(self, request: Request, needle_id: UUID) -> Response:
        """Change what is given and nothing else; is_hidden puts it away."""
        expected = self.expected_version()
        changes = self.typed(shapes.NeedleChangeIn)
        services.change_needle(self.actor, needle_id, changes=changes, expected_version=expected)
        return self._answer_with(needle_id)

    def _answer_with(self, needle_id: UUID) -> Response:
        needle = queries.needle_get(self.actor, needle_id)
        return Response(shapes.NeedleOut(needle).data, headers={"ETag": etag(needle)})


class Machines(HouseView):
    serializer_class = shapes.MachineOut
    rights = KEEPS

    @extend_schema(operation_id="machines_list", responses=shapes.MachineOut(many=True), parameters=[HIDDEN])
    def get(self, request: Request) -> Response:
        """Machines, the last recorded first."""
        rows = queries.machine_list(self.actor, with_hidden=with_hidden(request))
        return self.page_of(rows, shapes.MachineOut)

    @extend_schema(
        operation_id="machine_record", request=shapes.MachineIn, responses={201: shapes.MachineOut}
    )
    def post(self, request: Request) -> Response:
        """Record a machine and the stitch types that it makes."""
        made = services.record_machine(self.actor, **self.typed(shapes.MachineIn))
        machine = queries.machine_get(self.actor, made.pk)
        return self.created(
            shapes.MachineOut(machine).data, reverse("api-machine", args=[machine.pk]), machine
        )


class Machine(HouseView):
    serializer_class = shapes.MachineOut
    rights = CHANGES

    @extend_schema(operation_id="machine_get", responses=shapes.MachineOut)
    def get(self, request: Request, machine_id: UUID) -> Response:
        """One machine, and the ETag that a change needs."""
        return self._answer_with(machine_id)

    @extend_schema(operation_id="machine_change", request=shapes.MachineChangeIn, responses=shapes.MachineOut)
    def patch(self, request: Request, machine_id: UUID) -> Response:
        """Change what is given and nothing else; is_hidden puts it away."""
        expected = self.expected_version()
        changes = self.typed(shapes.MachineChangeIn)
        services.change_machine(self.actor, machine_id, changes=changes, expected_version=expected)
        return self._answer_with(machine_id)

    def _answer_with(self, machine_id: UUID) -> Response:
        machine = queries.machine_get(self.actor, machine_id)
        return Response(shapes.MachineOut(machine).data, headers={"ETag": etag(machine)})


class MachineServices(HouseView):
    serializer_class = shapes.ServiceOut
    rights = KEEPS

    @extend_schema(operation_id="machine_services_list", responses=shapes.ServiceOut(many=True))
    def get(self, request: Request, machine_id: UUID) -> Response:
        """Every service of a machine, the last recorded first."""
        return self.page_of(queries.machine_services(self.actor, machine_id), shapes.ServiceOut)

    @extend_schema(
        operation_id="machine_service_record", request=shapes.ServiceIn, responses={201: shapes.ServiceOut}
    )
    def post(self, request: Request, machine_id: UUID) -> Response:
        """Write down that a machine was serviced."""
        made = services.record_service(self.actor, machine_id, **self.typed(shapes.ServiceIn))
        location = reverse("api-machine-services", args=[machine_id])
        return self.created(shapes.ServiceOut(made).data, location)


class StitchTypes(HouseView):
    serializer_class = shapes.StitchTypeOut
    pagination_class = None
    rights = READS

    @extend_schema(operation_id="stitch_types_list", responses=shapes.StitchTypeOut(many=True))
    def get(self, request: Request) -> Response:
        """The stitch types of ISO 4915 that the house knows."""
        return Response(shapes.StitchTypeOut(stitch_types().values(), many=True).data)


class ThreadSizes(HouseView):
    serializer_class = shapes.ThreadSizeOut
    pagination_class = None
    rights = READS

    @extend_schema(
        operation_id="thread_sizes",
        parameters=[shapes.ThreadSizeQuery],
        responses=shapes.ThreadSizeOut(many=True),
    )
    def get(self, request: Request) -> Response:
        """One thread in every numbering system."""
        sizes = queries.thread_sizes(**asked(request, shapes.ThreadSizeQuery))
        return Response(shapes.ThreadSizeOut(sizes, many=True).data)
