"""Spanish: whether to trust the fit behind an answer, and why not."""

from __future__ import annotations

from typing import Final

__all__ = ["FIT_REASONS", "HELD", "TRUST"]

TRUST: Final[dict[str, str]] = {
    "good": "El ajuste detrás de estas cifras se sostiene.",
    "rough": "El ajuste detrás de estas cifras es tosco: tome sus rangos como una conjetura.",
    "refused": "El ajuste detrás de estas cifras fue rechazado. Vienen de lo último que se leyó en cada llanta y de ritmos de "
    "desgaste que se tenían antes de estas lecturas.",
}
"""By how far a fit is to be trusted."""

HELD: Final[dict[str, str]] = {
    "held": "Los rangos se sostuvieron: {cover} de {forecasts} lecturas posteriores cayeron en su rango de 80 %.",
    "narrow": "Los rangos son aquí demasiado estrechos: solo {cover} de {forecasts} lecturas posteriores cayeron en su rango "
    "de 80 %.",
    "wide": "Los rangos son más anchos de lo necesario: {cover} de {forecasts} lecturas posteriores cayeron en su rango de "
    "80 %.",
    "few": "Solo {forecasts} lecturas vinieron después: muy pocas para juzgar los rangos.",
}
"""By how the ranges of a back-test held."""

FIT_REASONS: Final[dict[str, str]] = {
    "not-converged": "Sus dispersiones no se habían asentado tras {value} vueltas.",
    "second-start": "Se asentó solo desde un segundo comienzo, con las profundidades de nuevas sujetas a lo que se sabe de "
    "ellas.",
    "unsolved": "Una profundidad o un recorrido está fuera de toda proporción: revise la bitácora.",
    "off-its-readings": "Se aparta de las últimas lecturas de {share} de las llantas: busque un medidor, una unidad o un "
    "odómetro equivocado.",
    "out-of-scale": "Ninguna llanta dura tanto, o tan poco, como dice: busque unidades u odómetros equivocados.",
    "ranges-lost": "No se pudieron hallar {value} de sus rangos.",
    "gradient": "Un paso más todavía lo mejoraría.",
    "new-depth-off": "Las llantas no empezaron con la profundidad de nuevas que se les anota: corríjala.",
    "starts-unidentified": "Todas las llantas de un modelo se leyeron a un mismo recorrido: su profundidad de nuevas es la anotada.",
    "far-readings": "{share} de las lecturas están muy lejos; cuentan menos.",
    "one-sided": "Las lecturas yerran más hacia un lado: busque un medidor que se traba o un surco que faltó.",
    "visit-effects": "Todas las lecturas de un día se inclinan igual: compare los medidores con un patrón.",
    "early-leavers": "Las llantas que se fueron con dibujo se habían gastado distinto de las demás.",
    "wanders": "El ritmo de desgaste cambia con el tiempo: busque cambios de hábitos.",
    "bends": "El desgaste se curva: una recta por las profundidades engañaría.",
    "left-out": "{value} lecturas no tienen llanta, profundidad o recorrido conocido y quedan fuera.",
    "odd-tires": "{value} de las llantas se gastaron distinto de su vehículo y su modelo.",
    "prior-rate": "Las lecturas casi no dicen qué tan rápido se gastan estas llantas: responden los ritmos publicados.",
}
"""By the code of a fit's reason."""
