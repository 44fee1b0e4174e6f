"""The wires between junction and chip: which type hangs there, which the chip takes it for, which way round."""

from __future__ import annotations

from dataclasses import dataclass

from simulations.plant import thermocouple


@dataclass(frozen=True, slots=True)
class Wiring:
    """How the probe is wired.

    Attributes
    ----------
    kind
        Type of the thermocouple that hangs in the kiln.
    set_to
        Type the chip takes it for.
    is_reversed
        The leads are the wrong way round at the chip.
    has_copper_lead
        From the probe's head on there is copper instead of the thermocouple's own alloys.
    """

    kind: str = "K"
    set_to: str = "K"
    is_reversed: bool = False
    has_copper_lead: bool = False

    @property
    def is_right(self) -> bool:
        """Return whether what the chip tells is the junction's temperature."""
        return self.kind == self.set_to and not self.is_reversed and not self.has_copper_lead

    def mv(self, hot_c: float, cold_c: float, head_c: float) -> float:
        """Return the voltage at the chip [mV].

        Parameters
        ----------
        hot_c, cold_c, head_c
            Temperature of the junction, of the chip's terminals and of the probe's head [°C].
        """
        end_c = head_c if self.has_copper_lead else cold_c
        mv = thermocouple.emf_mv(self.kind, hot_c) - thermocouple.emf_mv(self.kind, end_c)
        return -mv if self.is_reversed else mv

    def shown_c(self, hot_c: float, cold_c: float, head_c: float) -> float | None:
        """Return what a faultless chip shows [°C]; None where its type has no such voltage."""
        if self.is_right:
            return hot_c
        mv = self.mv(hot_c, cold_c, head_c) + thermocouple.emf_mv(self.set_to, cold_c)
        return thermocouple.temp_c(self.set_to, mv)
