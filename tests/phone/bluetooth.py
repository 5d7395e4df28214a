"""A simulated thermometer or scale, over the browser's own emulation of Bluetooth.

Found with Chromium 156, headless, no adapter:

- The emulation answers on the browser's own connection only; the chooser on the page's.
- The chooser's event comes twice, and a second answer with the same id ends the browser.
- A reload of the page empties the air, and a broken connection takes the services with it.
- `simulateAdvertisement` never answers here.
- A notification that nobody asked for can't be made: a subscription succeeds and stays silent.
  A value that was read comes to the page through the same event.
"""

import base64
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from playwright.sync_api import Browser, CDPSession, Page

FLAGS = [
    # The second feature remembers what was chosen, for getDevices, which comes with the last flag.
    "--enable-features=WebBluetooth,WebBluetoothNewPermissionsBackend",
    "--enable-experimental-web-platform-features",
]

_ON = {"state": "powered-on", "leSupported": True}
_SUCCESS, _FAILURE = 0, 0x0E  # Attribute Protocol: 'Unlikely Error' (Bluetooth Core, Vol 3, Part F)


def uuid(number: int) -> str:
    """A short number as a full UUID, on the Bluetooth base."""
    return f"{number:08x}-0000-1000-8000-00805f9b34fb"


class Instrument:
    """One simulated peripheral; `data` is what its characteristic holds."""

    def __init__(
        self, air: CDPSession, address: str, name: str, service: int, characteristic: int
    ) -> None:
        self.air = air
        self.address = address
        self.name = name
        self.service = service
        self.characteristic = characteristic
        self.data = b""
        self.in_reach = True
        self.asked: list[str] = []
        """What the browser did with it, such as 'connection' and 'read'."""
        self._id = ""
        self._properties: dict[str, bool] = {}
        air.on("BluetoothEmulation.gattOperationReceived", self._operation)
        air.on("BluetoothEmulation.characteristicOperationReceived", self._characteristic)

    def switch_on(self, **properties: bool) -> None:
        """Be there to be found; `properties` are those of the characteristic."""
        self._properties = properties
        self.air.send(
            "BluetoothEmulation.simulatePreconnectedPeripheral",
            {
                "address": self.address,
                "name": self.name,
                "manufacturerData": [],
                "knownServiceUuids": [uuid(self.service)],
            },
        )
        self._offer()

    def _offer(self) -> None:
        service = self.air.send(
            "BluetoothEmulation.addService",
            {"address": self.address, "serviceUuid": uuid(self.service)},
        )["serviceId"]
        self._id = self.air.send(
            "BluetoothEmulation.addCharacteristic",
            {
                "serviceId": service,
                "characteristicUuid": uuid(self.characteristic),
                "properties": self._properties,
            },
        )["characteristicId"]
        self.air.send(
            "BluetoothEmulation.addDescriptor",
            {"characteristicId": self._id, "descriptorUuid": uuid(0x2902)},
        )

    def go_away(self) -> None:
        """Break the connection, and be out of reach."""
        self.in_reach = False
        self.air.send("BluetoothEmulation.simulateGATTDisconnection", {"address": self.address})

    def come_back(self) -> None:
        self.in_reach = True
        self._offer()

    def _operation(self, event: dict[str, Any]) -> None:
        if event["address"] != self.address:
            return
        self.asked.append(event["type"])
        code = _SUCCESS if self.in_reach else _FAILURE
        self.air.send(
            "BluetoothEmulation.simulateGATTOperationResponse",
            {"address": self.address, "type": event["type"], "code": code},
        )

    def _characteristic(self, event: dict[str, Any]) -> None:
        if event["characteristicId"] != self._id:
            return
        self.asked.append(event["type"])
        answer = {"characteristicId": self._id, "type": event["type"], "code": _SUCCESS}
        if event["type"] == "read":
            answer["data"] = base64.b64encode(self.data).decode()
        self.air.send("BluetoothEmulation.simulateCharacteristicOperationResponse", answer)


@contextmanager
def air(browser: Browser) -> Iterator[CDPSession]:
    """The air around a browser that was started with `FLAGS`."""
    session = browser.new_browser_cdp_session()
    session.send("BluetoothEmulation.enable", _ON)
    yield session
    session.send("BluetoothEmulation.disable")
    session.detach()


def renew(session: CDPSession) -> None:
    """Fill the air again after a reload: switch the instruments on anew."""
    session.send("BluetoothEmulation.disable")
    session.send("BluetoothEmulation.enable", _ON)


def choose(page: Page, *, cancel: bool = False) -> CDPSession:
    """Choose the first instrument that the browser's chooser offers, or none.

    It does so until the session that it answers is detached.
    """
    session = page.context.new_cdp_session(page)
    answered: set[str] = set()

    def prompted(event: dict[str, Any]) -> None:
        if event["id"] in answered or not (event["devices"] or cancel):
            return
        answered.add(event["id"])
        if cancel:
            session.send("DeviceAccess.cancelPrompt", {"id": event["id"]})
        else:
            chosen = {"id": event["id"], "deviceId": event["devices"][0]["id"]}
            session.send("DeviceAccess.selectPrompt", chosen)

    session.on("DeviceAccess.deviceRequestPrompted", prompted)
    session.send("DeviceAccess.enable")
    return session
