"""Threads, needles, machines and the stitch types, in the API."""

from django.urls import reverse
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from seamlab.api import supply_serializers as shapes
from seamlab.api.base import KEEPS, READS, asked
from seamlab.queries import supplies as queries
from seamlab.queries.tables import stitch_types
from seamlab.services import supplies as services
from studio.platform.api.base import HouseView


class Threads(HouseView):
    serializer_class = shapes.ThreadOut
    rights = KEEPS

    @extend_schema(operation_id="threads_list", responses=shapes.ThreadOut(many=True))
    def get(self, request: Request) -> Response:
        """Threads, the last recorded first."""
        return self.page_of(queries.thread_list(self.actor), shapes.ThreadOut)

    @extend_schema(operation_id="thread_record", request=shapes.ThreadIn, responses={201: shapes.ThreadOut})
    def post(self, request: Request) -> Response:
        """Record a thread by its number in any system; its tex is kept."""
        made = services.record_thread(self.actor, **self.typed(shapes.ThreadIn))
        return self.created(shapes.ThreadOut(made).data, reverse("api-threads"))


class Needles(HouseView):
    serializer_class = shapes.NeedleOut
    rights = KEEPS

    @extend_schema(operation_id="needles_list", responses=shapes.NeedleOut(many=True))
    def get(self, request: Request) -> Response:
        """Needles, the last recorded first."""
        return self.page_of(queries.needle_list(self.actor), shapes.NeedleOut)

    @extend_schema(operation_id="needle_record", request=shapes.NeedleIn, responses={201: shapes.NeedleOut})
    def post(self, request: Request) -> Response:
        """Record a needle by either of its numbers."""
        made = services.record_needle(self.actor, **self.typed(shapes.NeedleIn))
        return self.created(shapes.NeedleOut(made).data, reverse("api-needles"))


class Machines(HouseView):
    serializer_class = shapes.MachineOut
    rights = KEEPS

    @extend_schema(operation_id="machines_list", responses=shapes.MachineOut(many=True))
    def get(self, request: Request) -> Response:
        """Machines, the last recorded first."""
        return self.page_of(queries.machine_list(self.actor), shapes.MachineOut)

    @extend_schema(
        operation_id="machine_record", request=shapes.MachineIn, responses={201: shapes.MachineOut}
    )
    def post(self, request: Request) -> Response:
        """Record a machine and the stitch types that it makes."""
        made = services.record_machine(self.actor, **self.typed(shapes.MachineIn))
        return self.created(shapes.MachineOut(made).data, reverse("api-machines"))


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
