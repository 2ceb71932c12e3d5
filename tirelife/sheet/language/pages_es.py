"""Spanish as it is spoken in shops of the United States and Mexico: decisions and the owner's page.

A tire is a *llanta*, the everyday word there; *neumático* is the word of manuals and of Spain. The tread is its
*dibujo*, to drive is *manejar*, and the customer is *usted*. With US units numbers are written as there (6,500; 5.5);
with metric ones the comma stands before decimals and a space sets off thousands (17 500; 5,5).
"""

from __future__ import annotations

from typing import Final

from tirelife.sheet.language.customer_es import CUSTOMER
from tirelife.sheet.language.pressures_es import PRESSURES

__all__ = ["TEXTS"]

_MONTHS: Final = [
    "enero", "febrero", "marzo", "abril", "mayo", "junio", "julio", "agosto", "septiembre", "octubre", "noviembre",
    "diciembre",
]  # fmt: skip
TEXTS: Final[dict[str, str]] = {
    **{f"month-{i + 1}": name for i, name in enumerate(_MONTHS)},
    **CUSTOMER,
    **PRESSURES,
    "point-us": ".", "group-us": ",", "point-metric": ",", "group-metric": "\u00a0",
    "deep-us": "/32 de pulgada", "deep-metric": " mm",
    "label-32nds": "32avos", "label-mm": "mm", "label-mi": "millas", "label-km": "km", "label-psi": "psi",
    "label-kpa": "kPa",
    "leak-us": "2 psi", "leak-metric": "14 kPa",
    "day-mdy": "{day} de {month} de {year}", "day-dmy": "{day} de {month} de {year}", "day-ymd": "{year} {month} {day}",
    "and": "y", "unknown": "sin datos", "early": "principios de", "mid": "mediados de", "late": "finales de",
    "date-part": "{part} {month}", "date-part-year": "{part} {month} de {year}", "date-month": "{month}",
    "date-month-year": "{month} de {year}", "date-third": "{part} {year}", "range": "{low} a {high}",
    "between": "entre {low} y {high}", "between-now": "entre ahora y {high}", "around": "hacia {low}",
    "about-week-one": "alrededor de 1 semana", "about-week-many": "unas {n} semanas",
    "about-month-one": "alrededor de 1 mes", "about-month-many": "unos {n} meses",
    "about-year-one": "alrededor de 1 año", "about-year-many": "unos {n} años",
    "gain": "+{far}", "gain-time": "+{far}, {time}", "loss": "−{far}", "loss-time": "−{far}, {time} menos",
    "little": "poco o nada", "gain-unsure": "{gain}, o nada",
    "little-from": "Poco o nada se ganaría con: {what}.", "all-tires": "Todas las llantas",
    "LF": "delantera izquierda", "RF": "delantera derecha", "LR": "trasera izquierda", "RR": "trasera derecha",
    "SP": "de refacción",
    "front-pair": "las dos delanteras", "rear-pair": "las dos traseras", "all-four": "las cuatro",
    "tires-all": "las cuatro llantas", "tires-front": "las dos llantas delanteras",
    "tires-rear": "las dos llantas traseras", "tires-some": "la llanta {where}",
    "days-few": "unos días", "weeks-one": "una semana", "weeks-many": "{n} semanas", "months-one": "un mes",
    "months-many": "{n} meses",
    "inspect": "Haga que una persona calificada revise ahora, antes de manejar lejos: {where}.",
    "inspect-may": "Haga medir el dibujo ahora, antes de manejar lejos ({where}): según nuestra estimación puede estar ya "
    "en el límite.",
    "inspect-read": "{where}, {read}", "as-read": "{raw} ({corrected} sin el error del medidor)",
    "inspect-limit": "Haga que una persona calificada revise el dibujo ahora, antes de manejar lejos: se leyó {read}, en "
    "el límite de {limit} o por debajo.",
    "leak": "Busque una fuga ahora: {where}; perdió alrededor de {loss} al mes.",
    "read-again": "Mida otra vez el dibujo ({where}): la última lectura no concuerda con las anteriores.",
    "replace-now": "Cambie {what} ahora.",
    "replace-soon": "Cambie {what} antes de la próxima visita.",
    "replace-plan": "Prevea el cambio de {what}.",
    "replace-window": "Prevea el cambio de {what} {when}.",
    "replace-match-axle": "La {where} va con ella: una nueva a su lado tendría {apart} más de dibujo.",
    "replace-match-drive": "Tracción en las cuatro ruedas: junto a llantas nuevas, la {where} tendría una diferencia de "
    "{apart}.",
    "replace-age": "Primero cuenta su edad: diez años desde su fabricación es el límite usual; manda la regla del "
    "fabricante.",
    "replace-all-due": "Las demás se vencerían poco después.",
    "replace-deeper-to-rear": "El par nuevo va en el eje trasero, salvo que el fabricante diga otra cosa.",
    "step-measure-angles": "Haga medir la alineación antes de mover las llantas ({where}): el dibujo lo pide.",
    "step-check-wheel-and-dampers": "Haga revisar el balanceo, los baleros y los amortiguadores ({where}).",
    "step-match-drive": "La tracción es a todas las ruedas y las llantas difieren en {apart}: haga que se igualen como pide "
    "el fabricante del vehículo ({where}: las más gastadas).",
    "step-check-pressure": "Revise la presión en frío y busque una fuga ({where}).",
    "step-inspect-now": "Haga que una persona calificada la revise ahora ({where}).",
    "pressure": "Ajuste la presión en frío, según la placa: anduvo alrededor de {low} baja. Nunca saque aire de una llanta "
    "caliente.",
    "pressure-unstated": "Ajuste la presión en frío, según la placa, que el registro no da: anduvo alrededor de {low} por debajo de "
    "lo que se supone. Nunca saque aire de una llanta caliente.",
    "pressure-unknown": "Ajuste la presión en frío, según la placa. Nunca saque aire de una llanta caliente.",
    "pressure-assumed": "Ajuste la presión en frío, según la placa: aquí andaría alrededor de {low} baja. Nunca saque aire "
    "de una llanta caliente.",
    "rotate": "Rote las llantas, salvo que se haya hecho hace poco: pregunte.",
    "rotate-as-assumed": "Rote las llantas ahora y después cada {far}, como se supone aquí.",
    "leave-as-assumed": "Sin rotación, como se supone aquí: con ella, el juego debería durar alrededor de {far} más.",
    "leave-as-assumed-same": "Sin rotación, como se supone aquí: con ella, el juego no duraría más.",
    "rotate-as-usual": "Rote las llantas: {far} desde la última vez.",
    "rotate-lengthens": "Rote las llantas ahora: el juego debería durar entonces alrededor de {far} más.",
    "rotate-after": "Una vez corregido eso, ",
    "leave-near-limit": "No las rote: en el límite o cerca de él: {where}.",
    "leave-replace-first": "No las rote: primero hay llantas que cambiar.",
    "leave-shortens": "Deje las llantas donde están: así la primera se vence tras alrededor de {stay}; si se rotan, tras "
    "alrededor de {rotate}.",
    "leave-not-due": "Todavía no toca rotar: {since} desde la última vez; lo usual es cada {every}.",
    "leave-sizes-differ": "Deje las llantas en su eje: las medidas difieren, así que ninguna puede pasar de adelante atrás.",
    "leave-sizes-and-direction": "Deje las llantas donde están: las medidas difieren y giran en un solo sentido, así que "
    "ninguna puede moverse.",
    "leave-not-known": "Sobre la rotación no se puede decir nada: se sabe muy poco de estas llantas.",
    "look-usual-service": "Haga medir el dibujo otra vez en el próximo servicio, dentro de {span}.",
    "look-before-limit": "Haga medir el dibujo otra vez dentro de {span}, antes de que una llanta pueda llegar al límite.",
    "first-one": "Lo más probable es que la primera sea: {where}.",
    "first-tie": "Casi igual de probable que sea la primera: {where}.",
    "lead-unknown": "Todavía no hay datos para darle una fecha. Mida otra vez en uno o dos meses.",
    "lead-due": "Vencida ahora: {where}. Prevea llantas nuevas antes de manejar lejos.",
    "lead": "Prevea llantas nuevas {when}, después de {far} {unit} más.",
    "stored": "Su otro juego, guardado",
    "stored-tire": "La llanta vuelve a", "stored-read": "Lectura mínima, {deep}", "stored-left": "{unit} restantes, 8 de cada 10",
    "stored-due": "Reemplazo, 8 de cada 10",
    "stored-share": "Con él se recorre alrededor del {share} de la distancia del año, según los días y distancias anotados.",
    "stored-share-told": "Con él se recorre alrededor del {share} de la distancia del año, según lo dicho.",
    "stored-change": "Los juegos se cambian hacia el {day}. Las llantas también envejecen guardadas: en seco, fresco y "
    "a oscuras, y que las revisen antes de montarlas.",
    "pressures": "Presiones",
    "fleet-sets": "Juegos guardados",
    "head-change": "Cambio de juego hacia", "head-due": "Primera del juego, 8 de cada 10",
    "appointment": "Su próxima cita: {day}.",
    "fleet-title": "Llantas de la flota",
    "fleet-vehicles": "{n} vehículos",
    "fleet-lead": "Vehículos que hay que ver ahora: {hands}; que hay que llamar por llantas antes de su próxima visita: "
    "{buy}.",
    "fleet-lead-month": "Llantas por comprar en el próximo mes: unas {expected} ({low} a {high}, 8 de cada 10 casos).",
    "fleet-urgent": "Vehículos que no pueden esperar: {n}. Haga que una persona calificada revise cada uno antes de "
    "manejarlo lejos.",
    "fleet-hands": "Lo que hay que atender ahora",
    "fleet-buy": "Llamar y comprar",
    "fleet-month-list": "En el próximo mes {tires} llantas: {parts}. Costo de llantas como "
    "las de ahora, con montaje: {bill}; valor del dibujo que se quita sin usar: {thrown}.",
    "buy-one-one": "una suelta", "buy-one-many": "{n} sueltas", "buy-pair-one": "un par", "buy-pair-many": "{n} pares",
    "buy-set-one": "un juego", "buy-set-many": "{n} juegos", "sort": "Ordenar por", "sort-urgent": "lo más urgente primero",
    "fleet-windows": "Cuándo le toca a cada vehículo",
    "assumed": "Supuesto, ni medido ni aprendido: {what}.",
    "assumed-new-depth": "una profundidad de nuevas de alrededor de {about}, estimada por el modelo de las llantas, sus "
    "primeras lecturas y el resto de los registros ({low} a {high}, 8 de cada 10 casos)",
    "assumed-drive": "{drive}",
    "assumed-placards": "una presión de placa de alrededor de {about} ({low} a {high}, 8 de cada 10 casos)",
    "drive-front": "tracción delantera", "drive-rear": "tracción trasera", "drive-all": "tracción en las cuatro ruedas",
    "fact-new-depth": "la profundidad de nuevas", "fact-drive": "la tracción", "fact-placards": "las presiones de la placa",
    "would-narrow": "saber {what} estrecharía el rango de la distancia restante en unas {far}",
    "telling": "Vale la pena decirnos: {what}.", "telling-idle": "Apenas cambiaría con {what}.",
    "fleet-months": "Llantas por comprar, por mes",
    "fleet-money": "Lo que cuestan las llantas",
    "fleet-groups": "Los grupos, lado a lado",
    "fleet-wear": "Qué vehículos gastan más rápido las llantas",
    "fleet-measure": "Qué medir después",
    "fleet-care": "Tenga en cuenta",
    "fleet-saved": "Lo que se ahorraría en un año",
    "fleet-bar": "Barra clara: 8 de cada 10 casos; oscura: 5 de cada 10; marca: el medio.",
    "none-hands": "Nada: ninguna lectura en el límite, ninguna fuga, ninguna lectura que no concuerde.",
    "none-buy": "Ningún vehículo necesita llantas antes de su próxima visita.",
    "none-months": "Ninguna llanta tiene fecha todavía.",
    "none-money": "No hay precios anotados: llene la columna price de la tabla tires.",
    "none-wear": "Todavía no hay lecturas suficientes.",
    "mark-now": "ahora", "mark-soon": "pronto",
    "search": "Buscar", "group": "Grupo", "all": "todos", "not-known": "sin datos", "never-read": "nunca",
    "head-vehicle": "Vehículo", "head-what": "Qué hacer", "head-count": "Llantas", "head-line": "Modelo de llanta",
    "head-bill": "Costo", "head-thrown": "Dibujo desechado",
    "head-by": "Antes de", "head-group": "Grupo", "head-first": "Primera", "head-read": "Lectura mínima, {deep}",
    "head-left": "{unit} que quedan, 8 de cada 10", "head-between": "Cambiar, 8 de cada 10", "head-window": "Ventana",
    "head-year": "Llantas en un año", "head-range": "8 de cada 10",
    "head-cost": "Por vehículo, cada mil {unit}, en su moneda",
    "head-if": "Si", "head-saved": "Ahorro al año", "head-since": "Última medición", "head-width": "Ancho de la ventana",
    "wear-odd": "Sin duda distintos de la mayoría: {names}. Mire la convergencia, las cargas, las presiones y las lecturas "
    "antes que a los conductores.",
    "wear-even": "Ninguno se sale de lo que se puede distinguir.",
    "groups-hidden": "No se muestran {n} grupos más pequeños: pocos vehículos señalan a personas.",
    "groups-unlike": "{group} gasta las llantas {more} más rápido que {other} (rango {low} a {high}).",
    "groups-slower": "{group} gasta las llantas {more} más despacio que {other} (rango {low} a {high}).",
    "groups-same": "No se ve diferencia entre {group} y {other} (rango {low} a {high}). Con estos datos se habría visto una "
    "diferencia de {least} o más; puede haber una menor.",
    "groups-untold": "No se puede distinguir entre {group} y {other} con estos datos.",
    "groups-not-itself": "Puede no ser el grupo mismo: rutas, autos y cargas no se separan aquí.",
    "groups-none": "No se comparan grupos: {why}",
    "speed-under": "menos de {high} {unit}", "speed-between": "{low} a {high} {unit}", "speed-over": "más de {low} {unit}",
    "speed-most": "La parte mayor del recorrido, {percent} %: {band}",
    "pressures-low": "En promedio, {kpa} bajo la placa", "pressures-high": "En promedio, {kpa} sobre la placa",
    "rotated-further": "Si se rotan, la primera llanta debería durar alrededor de {far} más",
    "rotated-sooner": "Si se rotan, la primera llanta debería vencerse alrededor de {far} antes",
    "rotated-further-unsure": "Rotar apenas mueve la primera llanta: alrededor de {far} más, o nada",
    "rotated-sooner-unsure": "Rotar apenas mueve la primera llanta: alrededor de {far} menos, o nada",
    "saved-drove": "se manejara como {other}", "saved-wore": "gastara llantas como {other}",
    "saved-pressure": "mantuviera sus presiones",
    "basis-habits": "hábitos anotados", "basis-all": "toda la diferencia", "basis-pressure": "presiones anotadas",
    "fair-1": "El desgaste de un grupo no depende solo de sus conductores: también difieren rutas, cargas, autos y lecturas, "
    "y mucho no se anota.",
    "fair-2": "No use solo estas cifras para premiar, sancionar o despedir a nadie; muestre a los conductores lo que se anota "
    "y pregúnteles primero.",
    "fair-3": "Los grupos de pocos vehículos señalan a personas y no se muestran. Manda la ley local sobre datos de "
    "trabajadores.",
}  # fmt: skip
"""By code; braces name what is filled in."""
