from django.urls import include, path

urlpatterns = [
    path("", include("office.urls")),
    path("", include("jobs.urls")),
    path("", include("billing.urls")),
    path("", include("deliverables.urls")),
    path("account/", include("allauth.urls")),
]
