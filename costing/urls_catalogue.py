"""Spray setups, labour classes, coating systems and customers."""

from django.urls import URLPattern, path

from costing.views import customers, labour, learning, operations, setups, systems

urlpatterns: list[URLPattern] = [
    path("setups/", setups.setups, name="setups"),
    path("setups/new/", setups.setup_new, name="setup_new"),
    path("setups/<int:pk>/", setups.setup, name="setup"),
    path("setups/<int:pk>/edit/", setups.setup_edit, name="setup_edit"),
    path("setups/<int:pk>/learning/", learning.setup_learning, name="setup_learning"),
    path("setups/<int:pk>/learning/<str:kind>.svg", learning.setup_learning_chart, name="setup_learning_chart"),
    path("setups/<int:pk>/learnt/", learning.setup_learnt, name="setup_learnt"),
    path("labour-classes/", labour.labour_classes, name="labour_classes"),
    path("labour-classes/new/", labour.labour_class_new, name="labour_class_new"),
    path("labour-classes/<int:pk>/edit/", labour.labour_class_edit, name="labour_class_edit"),
    path("systems/", systems.systems, name="systems"),
    path("systems/new/", systems.system_new, name="system_new"),
    path("systems/<int:pk>/", systems.system, name="system"),
    path("systems/<int:pk>/edit/", systems.system_edit, name="system_edit"),
    path("systems/<int:pk>/copy/", systems.system_copy, name="system_copy"),
    path("systems/<int:pk>/operations/new/", operations.operation_new, name="operation_new"),
    path("operations/<int:pk>/edit/", operations.operation_edit, name="operation_edit"),
    path("operations/<int:pk>/delete/", operations.operation_delete, name="operation_delete"),
    path("operations/<int:pk>/move/", operations.operation_move, name="operation_move"),
    path("customers/", customers.customers, name="customers"),
    path("customers/new/", customers.customer_new, name="customer_new"),
    path("customers/<int:pk>/", customers.customer, name="customer"),
    path("customers/<int:pk>/edit/", customers.customer_edit, name="customer_edit"),
]
