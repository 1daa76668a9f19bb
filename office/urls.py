from django.urls import path

from office.views import desk, health, links, log, settings

app_name = "office"
urlpatterns = [
    path("", desk.desk, name="desk"),
    path("open/<str:token>/", links.open_link, name="open-link"),
    path("links/<int:pk>/end/", links.revoke, name="link-revoke"),
    path("settings/", settings.settings, name="settings"),
    path("settings/people/", settings.people, name="people"),
    path("settings/people/new/", settings.person_new, name="person-new"),
    path("settings/people/<int:pk>/", settings.person, name="person"),
    path("settings/events/", log.events, name="events"),
    path("settings/notices/", log.notices, name="notices"),
    path("settings/notices/<int:pk>/", log.notice, name="notice"),
    path("settings/notices/<int:pk>/settle/", log.notice_settle, name="notice-settle"),
    path("healthz", health.healthz, name="healthz"),
    path("readyz", health.readyz, name="readyz"),
    path("robots.txt", health.robots, name="robots"),
]
