"""Answers first, the library, photographs and withdrawals of trials, samples side by side, in the API."""

from typing import Any
from uuid import UUID

from django.core.files.storage import default_storage
from django.http import FileResponse
from django.urls import reverse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.parsers import MultiPartParser
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response

from seamlab.api import sample_serializers as shapes
from seamlab.api.base import KEEPS, READS, asked
from seamlab.queries import advice, comparisons, seams
from seamlab.queries import cloth as cloth_queries
from seamlab.queries.library import library_standing
from seamlab.services import comparisons as comparison_services
from seamlab.services import trials as trial_services
from seamlab.services.library import take_in_library
from studio.calc.units import format_length
from studio.platform.api.base import HouseView, etag
from studio.platform.api.renderers import JpegRenderer
from studio.platform.rights import Right
from studio.platform.services.pictures import MOST_BYTES

IF_MATCH = OpenApiParameter(
    "If-Match", str, OpenApiParameter.HEADER, description="The comparison's ETag; 412 if it changed since."
)


class SeamAnswers(HouseView):
    serializer_class = shapes.AnswersOut
    pagination_class = None
    rights = READS

    @extend_schema(operation_id="seam_answers", parameters=[shapes.AnswersQuery], responses=shapes.AnswersOut)
    def get(self, request: Request, cloth_id: UUID) -> Response:
        """Which seam for this cloth: proven first, then what to try, then what was left out and why."""
        question = asked(request, shapes.AnswersQuery)
        found = seams.answers_for(self.actor, cloth_id, machine_id=question.pop("machine", None), **question)
        return Response(shapes.AnswersOut(found).data)


class KnitChecklist(HouseView):
    serializer_class = shapes.KnitChangeOut
    pagination_class = None
    rights = READS

    @extend_schema(
        operation_id="knit_checklist",
        parameters=[shapes.ChecklistQuery],
        responses=shapes.KnitChangeOut(many=True),
    )
    def get(self, request: Request, version_id: UUID) -> Response:
        """The few changes before this version is sewn on a knit; empty for a woven cloth or a stitch by hand."""
        cloth = cloth_queries.cloth_get(self.actor, asked(request, shapes.ChecklistQuery)["cloth"])
        changes = advice.knit_checklist(seams.version_get(self.actor, version_id), cloth.structure)
        return Response(shapes.KnitChangeOut(changes, many=True).data)


class SeamLibrary(HouseView):
    serializer_class = shapes.LibraryOut
    pagination_class = None
    rights = KEEPS

    @extend_schema(operation_id="seam_library_get", responses=shapes.LibraryOut)
    def get(self, request: Request) -> Response:
        """How much of the starting library is in this studio."""
        return Response(shapes.LibraryOut(library_standing(self.actor)).data)

    @extend_schema(operation_id="seam_library_take_in", request=None, responses={201: shapes.TakenInOut})
    def post(self, request: Request) -> Response:
        """Take in what is missing of the library, with the threads and needles it needs."""
        taken = take_in_library(self.actor)
        return self.created(shapes.TakenInOut(taken).data, reverse("api-seam-library"))


class TrialPhotos(HouseView):
    serializer_class = shapes.TrialPhotoOut
    parser_classes = [MultiPartParser]
    pagination_class = None
    rights = KEEPS

    @extend_schema(operation_id="trial_photos_list", responses=shapes.TrialPhotoOut(many=True))
    def get(self, request: Request, trial_id: UUID) -> Response:
        """The photographs of a sample."""
        trial: Any = seams.trial_get(self.actor, trial_id)
        return Response(shapes.TrialPhotoOut(trial.shown_photos, many=True).data)

    @extend_schema(
        operation_id="trial_photo_add",
        request={"multipart/form-data": shapes.TrialPhotoIn},
        responses={201: shapes.TrialPhotoOut},
    )
    def post(self, request: Request, trial_id: UUID) -> Response:
        """Add a photograph of the sample. It is drawn anew as JPEG, so that no place or camera comes along."""
        given = self.typed(shapes.TrialPhotoIn)
        picture = given.pop("picture").read(MOST_BYTES + 1)
        photo = trial_services.add_trial_photo(self.actor, trial_id, picture=picture, **given)
        return self.created(shapes.TrialPhotoOut(photo).data, reverse("api-trial-photo", args=[photo.pk]))


class TrialPhoto(HouseView):
    serializer_class = None
    renderer_classes = [JSONRenderer, JpegRenderer]
    rights = {"GET": Right.READ_SEAMS, "DELETE": Right.KEEP_SEAMS}

    @extend_schema(operation_id="trial_photo_get", responses={(200, "image/jpeg"): OpenApiTypes.BINARY})
    def get(self, request: Request, photo_id: UUID) -> FileResponse:
        """The photograph."""
        file = seams.trial_photo_file(self.actor, photo_id)
        return FileResponse(default_storage.open(file.key, "rb"), content_type=file.media_type)

    @extend_schema(operation_id="trial_photo_hide", responses={204: None})
    def delete(self, request: Request, photo_id: UUID) -> Response:
        """Take a photograph from the trial."""
        trial_services.hide_trial_photo(self.actor, photo_id)
        return Response(status=204)


class TrialWithdrawal(HouseView):
    serializer_class = shapes.WithdrawalOut
    rights = {"POST": Right.KEEP_SEAMS}

    @extend_schema(
        operation_id="seam_trial_withdraw",
        request=shapes.WithdrawalIn,
        responses={201: shapes.WithdrawalOut},
    )
    def post(self, request: Request, trial_id: UUID) -> Response:
        """Say that a trial was recorded wrongly: it stays as it was written and counts no longer."""
        made = trial_services.withdraw_trial(self.actor, trial_id, **self.typed(shapes.WithdrawalIn))
        return self.created(shapes.WithdrawalOut(made).data, reverse("api-seam-trial", args=[trial_id]))


class Comparisons(HouseView):
    serializer_class = shapes.ComparisonRowOut
    rights = KEEPS

    @extend_schema(operation_id="seam_comparisons_list", responses=shapes.ComparisonRowOut(many=True))
    def get(self, request: Request) -> Response:
        """Samples that were laid side by side, the newest first."""
        return self.page_of(comparisons.comparison_list(self.actor), shapes.ComparisonRowOut)

    @extend_schema(
        operation_id="seam_comparison_keep",
        request=shapes.ComparisonIn,
        responses={201: shapes.ComparisonOut},
    )
    def post(self, request: Request) -> Response:
        """Keep trials side by side under a question."""
        given = self.typed(shapes.ComparisonIn)
        kept = comparison_services.keep_comparison(
            self.actor, question=given["question"], trial_ids=given["trials"]
        )
        row = _table(self.actor, kept.pk)
        return self.created(
            shapes.ComparisonOut(row).data, reverse("api-seam-comparison", args=[kept.pk]), row
        )


class Comparison(HouseView):
    serializer_class = shapes.ComparisonOut
    rights = {"GET": Right.READ_SEAMS, "PATCH": Right.KEEP_SEAMS, "DELETE": Right.KEEP_SEAMS}

    @extend_schema(operation_id="seam_comparison_get", responses=shapes.ComparisonOut)
    def get(self, request: Request, comparison_id: UUID) -> Response:
        """The samples, in what they differ, what each takes and measured, and what was concluded."""
        row = _table(self.actor, comparison_id)
        return Response(shapes.ComparisonOut(row).data, headers={"ETag": etag(row)})

    @extend_schema(
        operation_id="seam_comparison_change",
        request=shapes.ComparisonChangeIn,
        responses=shapes.ComparisonOut,
        parameters=[IF_MATCH],
    )
    def patch(self, request: Request, comparison_id: UUID) -> Response:
        """Ask otherwise, or lay other samples; conclusions stay."""
        expected = self.expected_version()
        given = self.typed(shapes.ComparisonChangeIn)
        comparison_services.change_comparison(
            self.actor,
            comparison_id,
            question=given.get("question"),
            trial_ids=given.get("trials"),
            expected_version=expected,
        )
        return self.get(request, comparison_id)

    @extend_schema(operation_id="seam_comparison_put_away", responses={204: None})
    def delete(self, request: Request, comparison_id: UUID) -> Response:
        """Take a table of samples from the lists; its trials and conclusions stay."""
        comparison_services.put_away_comparison(self.actor, comparison_id)
        return Response(status=204)


class Conclusions(HouseView):
    serializer_class = shapes.ConclusionOut
    rights = {"POST": Right.KEEP_SEAMS}

    @extend_schema(
        operation_id="seam_comparison_conclude",
        request=shapes.ConclusionIn,
        responses={201: shapes.ConclusionOut},
    )
    def post(self, request: Request, comparison_id: UUID) -> Response:
        """Write down what was taken: one of the samples, or none of them."""
        given = self.typed(shapes.ConclusionIn)
        made = comparison_services.conclude_comparison(
            self.actor, comparison_id, taken_id=given.get("taken_id"), words=given.get("words", "")
        )
        location = reverse("api-seam-comparison", args=[comparison_id])
        return self.created(shapes.ConclusionOut(made).data, location)


def _table(actor: Any, comparison_id: UUID) -> Any:
    row: Any = comparisons.comparison_get(actor, comparison_id)
    row.table = comparisons.sample_table(row.trials, length=lambda mm: format_length(mm, "cm"))
    return row
