"""Spanish: a vehicle's pressures."""

from __future__ import annotations

from typing import Final

__all__ = ["PRESSURES"]

PRESSURES: Final[dict[str, str]] = {
    "air-caution": "Ajuste la presión en frío, según la placa. Nunca saque aire de una llanta caliente.",
    "air-leaks": "pierde {loss} al mes: haga revisar la llanta, su válvula y el rin",
    "air-leaks-far": "pierde {loss} al mes: haga revisar la llanta, su válvula y el rin antes de manejar lejos",
    "air-ran-25-low": "anduvo más de 25 % baja: hágala revisar por dentro y por fuera antes de confiar en ella",
    "air-ran-low": "anduvo baja: ajústela en frío según la placa y revísela cada mes",
    "air-ran-high": "anduvo por encima de la placa: corríjala en frío, nunca sacando aire de una llanta caliente",
    "air-let-out-warm": "perdió aire a propósito en caliente la última vez: revísela en frío, y nunca saque aire de una llanta caliente",
    "air-set-warm": "se ajustó en caliente la última vez, así que baja en frío: revísela en frío",
    "air-placard-assumed": "se compara con {placard}, supuestos, pues el registro no da la placa",
    "air-no-placard": "Donde no hay presión de placa, el registro no la da: léala en el vehículo antes de ajustar una llanta. Lo que anduvo baja se compara con una presión supuesta.",
    "air-no-distance": "no ha rodado en la calle, así que no hay nada que evaluar",
    "air-mostly-assumed": "casi toda su distancia está sin lecturas a ambos lados: ahí la presión se supone",
    "air-beyond-published": "su efecto en la duración se extrapola más allá de lo publicado, 17 a 35 psi (117 a 241 kPa)",
    "air-high-effect-unknown": "no se ha publicado qué efecto tiene inflar de más: se cuenta como ninguno",
    "air-wheel": "Rueda", "air-placard": "Placa, en frío", "air-hot": "Si se ajusta caliente",
    "air-last": "Última lectura", "air-below": "Anduvo por debajo", "air-days": "Días con más de 10 % de menos",
}  # fmt: skip
