from django.urls import path

from jobs.views import clients, diary, properties, shoots, walk

app_name = "jobs"
urlpatterns = [
    path("diary/", diary.diary, name="diary"),
    path("diary/feed/", diary.feed_new, name="feed-new"),
    path("calendar/<str:token>/visits.ics", diary.feed, name="feed"),
    path("shoots/", shoots.shoots, name="shoots"),
    path("shoots/new/", shoots.shoot_new, name="shoot-new"),
    path("shoots/<str:number>/", shoots.shoot, name="shoot"),
    path("shoots/<str:number>/time/", shoots.shoot_time, name="shoot-time"),
    path("shoots/<str:number>/confirm/", shoots.shoot_confirm, name="shoot-confirm"),
    path("shoots/<str:number>/captured/", shoots.shoot_captured, name="shoot-captured"),
    path("shoots/<str:number>/close/", shoots.shoot_close, name="shoot-close"),
    path("shoots/<str:number>/cancel/", shoots.shoot_cancel, name="shoot-cancel"),
    path("shoots/<str:number>/no-access/", shoots.shoot_no_access, name="shoot-no-access"),
    path("shoots/<str:number>/links/", shoots.shoot_links, name="shoot-links"),
    path("shoots/<str:number>/walk/", walk.walk, name="walk"),
    path("shoots/<str:number>/walk/import/", walk.walk_import, name="walk-import"),
    path("shoots/<str:number>/walk/walk.csv", walk.walk_export, name="walk-export"),
    path("shoots/<str:number>/walk/<int:pk>/remove/", walk.walk_remove, name="walk-remove"),
    path("tasks/<int:pk>/finish/", shoots.task_finish, name="task-finish"),
    path("tasks/<int:pk>/reopen/", shoots.task_reopen, name="task-reopen"),
    path("clients/", clients.clients, name="clients"),
    path("clients/new/", clients.client_new, name="client-new"),
    path("clients/<int:pk>/", clients.client, name="client"),
    path("clients/<int:pk>/edit/", clients.client_edit, name="client-edit"),
    path("properties/", properties.properties, name="properties"),
    path("properties/new/", properties.property_new, name="property-new"),
    path("properties/<int:pk>/", properties.property_page, name="property"),
    path("properties/<int:pk>/edit/", properties.property_edit, name="property-edit"),
    path("properties/<int:pk>/spaces/", properties.property_spaces, name="property-spaces"),
    path("properties/<int:pk>/property.json", properties.property_export, name="property-export"),
]
