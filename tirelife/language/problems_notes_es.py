"""Spanish words of what rooms note about gauges, pressures, fits and groups."""

from __future__ import annotations

from typing import Final

from tirelife.language import imports_es as _imports
from tirelife.language import problems_rooms_es as _rooms

__all__ = ["FAULTS", "NOTES"]

NOTES: Final = {
    **_imports.NOTES,
    **_rooms.NOTES,
    "gauge-not-compared": "Compárelo con un patrón: no se sabe cuánto se desvía.",
    "gauge-reads-high": "Marca {off} de más: repárelo o cámbielo.",
    "gauge-reads-low": "Marca {off} de menos: repárelo o cámbielo.",
    "gauge-overdue": "Comparado por última vez el {day}: compárelo de nuevo con un patrón.",
    "let-out-warm": "se dejó salir aire de una llanta caliente: revísela en frío, y nunca desinfle una llanta caliente",
    "set-warm": "ajustada en caliente, así que baja en frío: revísela en frío",
    "gauge-unknown": "manómetro nunca comparado con un patrón",
    "over-placard": "más de 10 % sobre la placa",
    "doubtful-pressure": "dudosa, así que no se usa para el curso de la presión",
    "fit-unsolved": 'Una profundidad o distancia está fuera de proporción: ejecute "tirelife check" en la bitácora.',
    "fit-not-converged": "Las dispersiones no se habían asentado: tome cada intervalo como una conjetura.",
    "fit-gradient": "Un paso más aún mejoraría el ajuste: tome las dispersiones como aproximadas.",
    "fit-ranges-lost": "La covarianza falló para estos; quedan en blanco.",
    "fit-left-out": "No se conoce su llanta, profundidad o distancia: vea las dudas de la bitácora.",
    "fit-far-readings": "Más lecturas se alejan de lo que permite el azar: cuentan menos, y los intervalos se apoyan en el resto.",
    "fit-one-sided": "Las lecturas yerran más hacia un lado: busque un medidor que se atora o una ranura omitida.",
    "fit-outliers": "Marcadas en visits (outlier) y conservadas: busque errores de escritura y posiciones cambiadas.",
    "fit-visit-effects": "Todas las lecturas de un día se inclinan igual: compare los medidores con un patrón, leídos del mismo modo.",
    "fit-off-its-readings": "El ajuste se aparta de lo último que se leyó: las respuestas vienen de esas lecturas y de lo previo.",
    "fit-out-of-scale": "Ninguna llanta dura así: busque unidades u odómetros equivocados.",
    "fit-new-depth-off": "Las llantas de una línea empezaron en otra profundidad que la declarada: corríjala.",
    "fit-over-new": "Su profundidad de nueva declarada debe estar mal: corríjala.",
    "fit-starts-unidentified": "Sus lecturas se tomaron todas a casi una misma distancia: sus inicios se fijan en lo que se sabe.",
    "fit-odd-tires": "{about} se gastaron distinto que su vehículo y línea: revise los montajes, luego la rueda.",
    "fit-early-faster": (
        "Las llantas que salieron con dibujo se habían gastado más rápido que las demás: los pronósticos de las "
        "que siguen pueden errar hacia el otro lado."
    ),
    "fit-early-slower": (
        "Las llantas que salieron con dibujo se habían gastado más lento que las demás: los pronósticos de las "
        "que siguen pueden errar hacia el otro lado."
    ),
    "fit-wanders": "El desgaste cambia con el tiempo: busque hábitos que cambiaron; los intervalos crecen con la distancia.",
    "fit-bends-slows": "El desgaste se curva: se frena al bajar el dibujo (q = {about}). Las rectas engañan aquí.",
    "fit-bends-quickens": "El desgaste se curva: se acelera al bajar el dibujo (q = {about}). Las rectas engañan aquí.",
    "fit-prior-answers": "Las lecturas casi no dicen nada de ello: responde lo previo.",
    "fit-cause-more": (
        "Los vehículos con más de esta causa se gastan más de lo que su factor permite: vea cómo se registró, o qué "
        "la acompaña."
    ),
    "fit-cause-less": (
        "Los vehículos con más de esta causa se gastan menos de lo que su factor permite: vea cómo se registró, o "
        "qué la acompaña."
    ),
    "paths-bend": (
        "Los recorridos se curvan: los rectos engañarán; pruebe curved=True, otra escala, o datos más cortos."
    ),
    "group-few-rates": "Registre profundidades en más visitas: una llanta leída una vez, o dos veces en poca distancia, no dice nada.",
    "group-hidden": "Se ajustan con los demás. Los grupos pequeños señalan a personas; júntelos, o baje el límite sabiéndolo.",
    "group-few-vehicles": "Quedan tan pocos vehículos tras los grupos y ajustes que los intervalos se apoyan en poco; ajuste por menos columnas o registre más vehículos.",
    "group-not-adjusted": "{about}: lo que parece el grupo puede ser esto. Registre más vehículos, o nombre las columnas por las que ajustar.",
    "group-one-vehicle": "Sin un vehículo no quedaría diferencia: revise primero ese vehículo, su convergencia, presiones, cargas y lecturas.",
    "group-own-kind": "{about}: lo que parece el grupo puede ser esto. Solo se comparan grupos que comparten algo.",
    "group-one-car": "{about}: Un grupo y su único auto coinciden. Haga que los conductores cambien de auto, o registre más autos.",
    "group-inflation": "Los grupos y aquello por lo que se ajustan van juntos, así que queda poco que comparar; cambie autos, líneas o sitios entre grupos.",
    "group-large-ratio": "En pruebas de flotas los conductores solos han movido el desgaste hasta 35 % (TMC RP 230); más que eso señala primero a autos, cargas, caminos o lecturas.",
    "group-wide-spread": "Los usuarios de un lugar difieren cerca del doble (Tire Sci. Technol. 1973); más que eso señala a vehículos con problemas, o a odómetros y profundidades mal leídos.",
    "group-habits-unknown": "Donde no se registran hábitos se supone que todos los grupos conducen igual, así que una diferencia cae en lo no explicado. Registre hábitos, o reduzca a ellos los viajes registrados.",
    "trips-no-sideways": "sin aceleración lateral ni rumbo: las vueltas son las de un manejo típico",
    "trips-some-sideways": "se conocen las vueltas de menos de la mitad de la distancia; el resto se toma como manejo típico",
}

FAULTS: Final = {
    "trips-missing": ("muestras sin tiempo o velocidad, omitidas", "vea por qué el grabador no las anotó"),
    "trips-unsorted": ("muestras fuera de orden, ordenadas", "escriba cada viaje en orden de tiempo"),
    "trips-repeated": (
        "muestras a un tiempo que ya está, omitidas; de dos velocidades queda la menor",
        "vea que no haya dos viajes con el mismo trip_id",
    ),
    "trips-negative": ("velocidades menores que 0, tomadas como 0", "anote la velocidad sin signo"),
    "trips-spikes": (
        "muestras que ningún vehículo podría alcanzar y dejar, omitidas",
        "revise la antena del receptor",
    ),
    "trips-jumps": (
        "cambios de velocidad que ninguna llanta aguanta, dejados fuera",
        "busque muestras perdidas o viajes mezclados",
    ),
    "trips-gaps": (
        "pasos de más de 1.5 s: una recta en distance_km, fuera de todo lo demás",
        "grabe una vez por segundo o más",
    ),
    "trips-drift-s": (
        "segundos de avance por debajo de 0.5 m/s, tomados por un receptor en reposo y fuera de los momentos",
        "no hace falta nada; la distancia perdida es drift_km",
    ),
    "trips-side-wrong": (
        "aceleraciones laterales de más de 12 m/s², dejadas fuera",
        "revise la unidad de la columna lateral",
    ),
    "trips-along-wrong": (
        "aceleraciones longitudinales de más de 12 m/s², dejadas fuera",
        "revise la unidad de la columna longitudinal",
    ),
    "trips-no-speed": (
        "muestras de aceleración sin velocidad: se conocen los eventos y su tamaño, no la distancia ni el perfil",
        "anote la velocidad junto a la aceleración",
    ),
    "left-out-mph": ("las velocidades parecen mph", "llame a la columna speed_mph"),
    "left-out-kmh": ("las velocidades parecen km/h", "llame a la columna speed_kmh"),
    "left-out-either": ("las velocidades parecen km/h o mph", "llame a la columna speed_kmh o speed_mph"),
    "left-out-no-speed": (
        "no hay velocidades, así que no hay perfil",
        "nada; el viaje no cuenta en el manejo de su vehículo",
    ),
    "left-out-too-slow": (
        "se grabó menos de una vez cada 1.5 s",
        "nada; el viaje no cuenta en el manejo de su vehículo",
    ),
    "left-out-still": ("el vehículo no se mueve", "nada; el viaje no cuenta en el manejo de su vehículo"),
}
"""Of recorded trips: what is wrong and what was done, and what to do."""
