"""Spanish: the customer's page, its controls and its charts."""

from __future__ import annotations

from typing import Final

__all__ = ["CUSTOMER"]

CUSTOMER: Final[dict[str, str]] = {
    "page-title": "Cuánto deberían durar sus llantas",
    "page-key-likely": "5 de cada 10 casos", "page-key-wide": "8 de cada 10 casos",
    "page-key-middle": "igual de probable antes que después", "page-key-left": "hule que queda",
    "page-key-worn": "gastado", "page-key-least": "lectura mínima",
    "page-nothing": "Todavía no se sabe lo suficiente para decirlo.",
    "page-next": "Qué hacer ahora", "page-windows": "Cuándo prever llantas nuevas",
    "page-today": "Lo que medimos hoy", "page-measured": "Lo que medimos el {day}",
    "page-paths": "Mínimo hasta hoy y lo que es probable", "page-changes": "Qué ayudaría",
    "page-causes": "Qué las gastó", "page-how": "Cómo lo calculamos y qué tan seguro es",
    "page-care": "Tenga en cuenta",
    "page-tire": "Llanta", "page-kind": "Modelo", "page-least": "Lectura mínima, {deep}",
    "page-now": "Mínimo hoy, estimado", "page-left": "{unit} que quedan, 8 de cada 10 casos",
    "page-far-us": "Millas", "page-far-metric": "Kilómetros",
    "page-not-read": "sin medir", "page-at": "{depth}, en la {where}",
    "page-at-on": "{depth}, en la {where} el {day}", "page-on": "{depth}, el {day}",
    "page-as-read": "Las profundidades son las leídas, la menor de cada surco.",
    "page-bias": "Para juzgarlas descontamos lo que el medidor lee de más o de menos.",
    "page-elsewhere": "Se nombra la posición donde la llanta se midió en otra rueda.",
    "page-read-at": "{tire}, medida en la {where}",
    "page-read-on": "{tire}, medida el {day}",
    "page-read-at-on": "{tire}, medida en la {where} el {day}",
    "page-look-now": "Haga que una persona calificada las revise antes de manejar lejos:",
    "would-change": "Lo que lo cambiaría: {what}.",
    "above": "Primero vea el aviso de arriba. ",
    "care-1": "Esto es una estimación, no una inspección de seguridad. Mirar la llanta siempre va primero.",
    "care-2": "Haga revisar una llanta de inmediato si ve cuerdas, un bulto, un corte, grietas o los indicadores de "
    "desgaste al nivel del dibujo, o si pierde más de {leak} al mes.",
    "care-3": "La profundidad legal cambia según el lugar, la temporada y el vehículo. Mandan la ley local y la placa del "
    "vehículo.",
    "care-4": "El agarre en mojado baja mucho antes de la profundidad legal. Muchos conductores las cambian antes.",
    "care-5": "Ajuste la presión en frío, según la placa. Nunca saque aire de una llanta caliente.",
    "care-6": "La edad o un daño pueden acabar con una llanta antes que el desgaste.",
    "how-fit": "Ajustamos la rapidez del desgaste a {visits} visitas de {tires} llantas.",
    "how-own-one": "Este auto se midió en 1 día.", "how-own-many": "Este auto se midió en {n} días.",
    "how-published": "Cuánto cuentan la velocidad, los arranques, las frenadas, las curvas y la presión viene de estudios "
    "publicados y solo se conoce de forma aproximada.",
    "how-bar": "Si se sigue manejando igual, la fecha debería caer dentro de la barra clara unas 8 de cada 10 veces.",
    "how-checked": "Comprobamos estos rangos con {n} lecturas posteriores al pronóstico.",
    "walkin-car": "Su auto",
    "walkin-how": "Esto sale de una sola visita, así que se apoya en cifras publicadas para autos como este, y su rango es "
    "amplio.",
    "walkin-usual": "No tuvimos datos de: {what}; tomamos lo usual.",
    "walkin-second": "Una segunda visita dirá qué tan rápido se gastan estas llantas y hará más estrecho el rango.",
    "usual-depth-when-new": "profundidad de nuevas", "usual-distance-on-these-tires": "recorrido de estas llantas",
    "usual-distance-a-year": "recorrido al año", "usual-drive": "tracción", "usual-driving": "forma de manejar",
    "usual-rotation": "rotación", "usual-treadwear-grade": "grado de desgaste",
    "try-title": "¿Y si fuera de otra manera?", "try-more": "Velocidades y manejo brusco", "try-reset": "Como estaba",
    "try-print": "Imprimir esta página",
    "try-no-share": "Todas las partes de velocidad están en 0: dé una parte al menos a una.",
    "try-first": "Primera del juego",
    "try-speed": "Parte de {unit} por velocidad", "try-hard": "Manejo brusco, por cada 100 {unit}",
    "try-care": "Cuidado y uso",
    "try-shares": "Más de una velocidad es menos de las otras. Los tramos lentos tienen más curvas, frenadas y maniobras: una "
    "llanta que se gasta sobre todo con ellas puede durar más con más tramos rápidos, aunque la velocidad en sí la gasta más.",
    "try-band-us-1": "menos de 25 mph", "try-band-us-2": "25 a 40 mph", "try-band-us-3": "40 a 55 mph",
    "try-band-us-4": "55 a 70 mph", "try-band-us-5": "más de 70 mph",
    "try-band-metric-1": "menos de 40 km/h", "try-band-metric-2": "40 a 65 km/h", "try-band-metric-3": "65 a 90 km/h",
    "try-band-metric-4": "90 a 110 km/h", "try-band-metric-5": "más de 110 km/h",
    "try-gentler": "Manejo más suave", "try-starts": "Arranques bruscos", "try-stops": "Frenadas bruscas", "try-turns": "Curvas bruscas",
    "try-year": "{unit} al año", "try-removal": "Cambiarlas a", "try-rotation": "Rotación",
    "try-pressure": "Presión en frío", "try-as-now": "como ahora", "try-none": "ninguna", "try-every": "cada {far}",
    "try-assumed": "Si el auto sigue como ahora: unas {year} al año, con el mismo manejo, presiones y rotación. Llantas "
    "nuevas a {depth}.",
    "live-if": "Si, de ahora en adelante: {what}.", "live-placard": "según la placa", "live-low": "{pressure} baja",
    "live-gentler": "en {percent} %", "live-high": "{pressure} alta",
    "change-placard": "Presiones según la placa", "change-straight": "Ruedas derechas",
    "change-starts": "Arranques más suaves, en un quinto", "change-stops": "Frenadas más suaves, en un quinto",
    "change-turns": "Más despacio en curvas, en un décimo", "change-slower": "{speed} menos en vías rápidas",
    "change-rotate": "Rotar {every}", "change-pressure-right": "Presión corregida",
    "change-toe-right": "Convergencia corregida", "change-camber-right": "Camber corregido",
    "chart-date": "Fecha (mes y año)", "chart-depth-read": "Leído", "chart-depth-least": "Mínimo", "chart-odometer": "Odómetro",
    "chart-left": "Resta en el juego, medio del rango",
    "chart-share": "Parte del desgaste desde nuevas (por ciento)",
    "chart-buy": "Llantas por comprar (número)", "chart-month": "Mes a partir del día del último registro",
    "chart-ratio": "Desgaste de sus llantas sobre el promedio de la flota (razón)",
    "chart-deep-us": "treintaidosavos de pulgada", "chart-deep-metric": "mm",
    "chart-outer": "exterior", "chart-outer_mid": "medio exterior", "chart-center": "centro",
    "chart-inner_mid": "medio interior", "chart-inner": "interior", "chart-least": " (la mínima)",
    "chart-said-windows": "Ventana de cambio de cada llanta en un calendario. Barra clara: 8 de cada 10 casos; barra oscura: "
    "5 de cada 10; marca: la fecha de en medio. {rows}.",
    "chart-said-profiles": "Corte del dibujo de cada rueda, como se leyó, en {unit}. {rows}. Profundidad de cambio {limit}.",
    "chart-said-distance": "Profundidad mínima en {unit} según el odómetro: los puntos son lecturas sin el error del medidor, la línea es "
    "el camino más probable desde lo estimado para hoy, las bandas abarcan 5 y 8 de cada 10 casos, la línea cortada es la profundidad de cambio, {limit}. {rows}.",
    "chart-said-date": "Profundidad mínima en {unit} según la fecha: los puntos son lecturas sin el error del medidor, la línea es el "
    "camino más probable desde lo estimado para hoy, las bandas abarcan 5 y 8 de cada 10 casos, la línea cortada es la profundidad de cambio, {limit}. {rows}.",
    "chart-read": "{label}: {n} lecturas, la última leída {depth}", "chart-unread": "{label}: sin lecturas",
    "chart-said-causes": "Qué gastó las llantas, en partes del desgaste desde nuevas que suman el todo. {rows}.",
    "chart-said-changes": "Recorrido que queda antes y después de cada cambio. Punto abierto: como está; punto lleno: después, "
    "con una línea fina que abarca 8 de cada 10 casos. {rows}.",
    "chart-said-months": "Llantas por comprar por mes, {total} en total; la línea abarca 8 de cada 10 casos. {rows}.",
    "chart-said-vehicles": "Qué tan rápido gasta cada vehículo sus llantas, sobre el promedio de la flota, en rangos de 80 por "
    "ciento. {rows}.",
    "chart-speed-share": "Parte del recorrido (por ciento)",
    "chart-speed-row": "{band}: {percent} por ciento, conductor común {usual}",
    "chart-said-speeds": "Parte del recorrido a cada velocidad. Barra: este vehículo; marca: el conductor común. {rows}.",
    "chart-left-tire": "Resta en cada llanta", "chart-stays": "se queda", "chart-turns": "rotada",
    "chart-rotation-row": "{label}: {stays} si se queda, {turns} si se rota el juego",
    "chart-said-rotation": "Recorrido que queda en cada llanta. Punto abierto: si se queda donde está; punto lleno: si se rota "
    "el juego; las líneas abarcan 8 de cada 10 casos. {rows}.",
    "chart-range": "{name} {middle}, {low} a {high}",
    "cause-base": "Rodar", "cause-speed": "Velocidad", "cause-starts": "Acelerar", "cause-stops": "Frenar",
    "cause-corners": "Curvas y giros", "cause-parking": "Maniobras", "cause-alignment": "Ruedas desalineadas",
    "cause-pressure": "Presión baja", "cause-rest": "Todo lo demás", "axle-front": "Delante", "axle-rear": "Atrás",
}  # fmt: skip
"""By code; braces name what is filled in."""
