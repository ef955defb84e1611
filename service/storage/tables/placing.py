"""Tables of what is planned and measured: layouts of sheets, orders, plans of placings, readings."""

from typing import ClassVar

from sqlmodel import Field

from service.storage.tables.tables import NounRow


class LayoutRow(NounRow, table=True):
    __tablename__: ClassVar[str] = "layout"
    sketch_id: str = Field(foreign_key="sketch.id", index=True)


class PlacingPlanRow(NounRow, table=True):
    __tablename__: ClassVar[str] = "placing_plan"
    zone_id: str = Field(foreign_key="zone.id", index=True)


class ReadingsRow(NounRow, table=True):
    __tablename__: ClassVar[str] = "readings"
    zone_id: str = Field(foreign_key="zone.id", index=True)


class ThicknessRow(NounRow, table=True):
    __tablename__: ClassVar[str] = "thickness"
    zone_id: str = Field(foreign_key="zone.id", index=True)


class OrderPlanRow(NounRow, table=True):
    __tablename__: ClassVar[str] = "order_plan"
