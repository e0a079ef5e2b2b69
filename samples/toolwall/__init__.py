"""The invented panel system of a community bicycle workshop: shapes to try the planner on.

Square panels with upright rectangular slots; accessories whose flat tongues go through a
slot and drop behind the panel; bow-tie keys between neighbours; screw standoffs where the
corners of panels meet. All of it is made up for the demonstration: nothing was load-tested.
"""
