from django.urls import path

from deliverables.views import bundles, drafters, drafting, drafts, fixes, handover, plan_orders

app_name = "deliverables"
urlpatterns = [
    path("plans/", plan_orders.plan_room, name="plan-room"),
    path("plans/new/<str:number>/", plan_orders.plan_order_new, name="plan-order-new"),
    path("plans/<str:number>/", plan_orders.plan_order, name="plan-order"),
    path("plans/<str:number>/send/", plan_orders.plan_order_send, name="plan-order-send"),
    path("plans/<str:number>/withdraw/", plan_orders.plan_order_withdraw, name="plan-order-withdraw"),
    path("plans/<str:number>/accept/", plan_orders.plan_order_accept, name="plan-order-accept"),
    path("plans/<str:number>/reopen/", plan_orders.plan_order_reopen, name="plan-order-reopen"),
    path("plans/<str:number>/drafts/", drafts.draft_upload, name="draft-upload"),
    path("plans/<str:number>/fixes/send/", fixes.fixes_send, name="fixes-send"),
    path("drafts/<int:pk>/file/", drafts.draft_file, name="draft-file"),
    path("drafts/<int:pk>/pages/<int:page>/", drafts.draft_preview, name="draft-preview"),
    path("drafts/<int:pk>/check/", drafts.draft_check, name="draft-check"),
    path("drafts/<int:pk>/fixes/", fixes.fix_ask, name="fix-ask"),
    path("fixes/<int:pk>/settle/", fixes.fix_settle, name="fix-settle"),
    path("fixes/<int:pk>/again/", fixes.fix_ask_again, name="fix-ask-again"),
    path("fixes/<int:pk>/withdraw/", fixes.fix_withdraw, name="fix-withdraw"),
    path("drafters/", drafters.drafters, name="drafters"),
    path("drafters/new/", drafters.drafter_new, name="drafter-new"),
    path("drafters/<int:pk>/", drafters.drafter, name="drafter"),
    path("drafters/<int:pk>/link/", drafters.drafter_link, name="drafter-link"),
    path("handovers/", bundles.handovers, name="handovers"),
    path("handovers/new/<str:number>/", bundles.bundle_make, name="bundle-make"),
    path("bundles/<int:pk>/", bundles.bundle, name="bundle"),
    path("bundles/<int:pk>/items/", bundles.item_add, name="bundle-item-add"),
    path("bundles/<int:pk>/hand-over/", bundles.bundle_hand_over, name="bundle-hand-over"),
    path("bundles/<int:pk>/withdraw/", bundles.bundle_withdraw, name="bundle-withdraw"),
    path("items/<int:pk>/", bundles.item, name="bundle-item"),
    path("items/<int:pk>/remove/", bundles.item_remove, name="bundle-item-remove"),
    # Behind a drafter's link
    path("drafting/<int:drafter_id>/", drafting.home, name="drafter-home"),
    path("drafting/<int:drafter_id>/orders/<str:number>/", drafting.order, name="drafter-order"),
    path("drafting/<int:drafter_id>/orders/<str:number>/upload/", drafting.upload, name="drafter-upload"),
    path("drafting/<int:drafter_id>/orders/<str:number>/walk.csv", drafting.walk, name="drafter-walk"),
    path("drafting/<int:drafter_id>/drafts/<int:pk>/", drafting.draft_file, name="drafter-draft"),
    path("drafting/<int:drafter_id>/drafts/<int:pk>/pages/<int:page>/", drafting.preview, name="drafter-preview"),
    path("drafting/<int:drafter_id>/fixes/<int:pk>/return/", drafting.fix_return, name="drafter-fix-return"),
    # Behind a client's link
    path("handover/<int:shoot_id>/", handover.handover, name="client-handover"),
    path("handover/<int:shoot_id>/items/<int:pk>/", handover.item, name="client-item"),
    path("handover/<int:shoot_id>/items/<int:pk>/pages/<int:page>/", handover.preview, name="client-preview"),
    path("handover/<int:shoot_id>/everything.zip", handover.everything, name="client-bundle"),
    path("handover/<int:shoot_id>/approve/", handover.approve, name="client-approve"),
]
