// Made from pint by `python -m benchapp.formulas.export`; not edited by hand.
export default {
 "dimensions": {
  "mass": {
   "base": "g",
   "units": {
    "g": {
     "step": 0.1,
     "factor": 1.0,
     "before": 0.0
    },
    "kg": {
     "step": 0.001,
     "factor": 1000.0,
     "before": 0.0
    },
    "mg": {
     "step": 1,
     "factor": 0.001,
     "before": 0.0
    },
    "oz": {
     "step": 0.01,
     "factor": 28.349523125000005,
     "before": 0.0
    },
    "lb": {
     "step": 0.001,
     "factor": 453.5923700000001,
     "before": 0.0
    },
    "gr": {
     "step": 1,
     "factor": 0.06479891,
     "before": 0.0
    }
   },
   "spellings": {
    "gram": "g",
    "grams": "g",
    "gramme": "g",
    "grammes": "g",
    "gm": "g",
    "gms": "g",
    "kilo": "kg",
    "kilos": "kg",
    "kilogram": "kg",
    "kilograms": "kg",
    "kgs": "kg",
    "milligram": "mg",
    "milligrams": "mg",
    "ounce": "oz",
    "ounces": "oz",
    "ozs": "oz",
    "lbs": "lb",
    "pound": "lb",
    "pounds": "lb",
    "grain": "gr",
    "grains": "gr"
   },
   "range": [
    0,
    1000000.0
   ]
  },
  "volume": {
   "base": "ml",
   "units": {
    "ml": {
     "step": 1,
     "factor": 1.0,
     "before": 0.0
    },
    "cl": {
     "step": 0.1,
     "factor": 10.0,
     "before": 0.0
    },
    "l": {
     "step": 0.001,
     "factor": 1000.0,
     "before": 0.0
    },
    "US fl oz": {
     "step": 0.01,
     "factor": 29.573529562499992,
     "before": 0.0
    },
    "imp fl oz": {
     "step": 0.01,
     "factor": 28.413062500000002,
     "before": 0.0
    },
    "US pint": {
     "step": 0.001,
     "factor": 473.1764729999999,
     "before": 0.0
    },
    "imp pint": {
     "step": 0.001,
     "factor": 568.26125,
     "before": 0.0
    },
    "in³": {
     "step": 0.01,
     "factor": 16.387063999999995,
     "before": 0.0
    }
   },
   "spellings": {
    "millilitre": "ml",
    "millilitres": "ml",
    "milliliter": "ml",
    "milliliters": "ml",
    "cc": "ml",
    "cm3": "ml",
    "cm³": "ml",
    "centilitre": "cl",
    "centilitres": "cl",
    "centiliter": "cl",
    "centiliters": "cl",
    "litre": "l",
    "litres": "l",
    "liter": "l",
    "liters": "l",
    "usfloz": "US fl oz",
    "usfluidounce": "US fl oz",
    "usfluidounces": "US fl oz",
    "impfloz": "imp fl oz",
    "imperialfloz": "imp fl oz",
    "ukfloz": "imp fl oz",
    "impfluidounce": "imp fl oz",
    "impfluidounces": "imp fl oz",
    "imperialfluidounces": "imp fl oz",
    "uspint": "US pint",
    "uspints": "US pint",
    "imppint": "imp pint",
    "imppints": "imp pint",
    "in3": "in³",
    "cuin": "in³",
    "cubicinch": "in³",
    "cubicinches": "in³"
   },
   "range": [
    0,
    1000000.0
   ]
  },
  "temperature": {
   "base": "°C",
   "units": {
    "°C": {
     "step": 0.1,
     "factor": 1.0,
     "before": 0.0
    },
    "°F": {
     "step": 0.1,
     "factor": 0.5555555555555556,
     "before": -32.0
    },
    "K": {
     "step": 0.1,
     "factor": 1.0,
     "before": -273.15
    }
   },
   "spellings": {
    "c": "°C",
    "°c": "°C",
    "ºc": "°C",
    "℃": "°C",
    "degc": "°C",
    "celsius": "°C",
    "degreesc": "°C",
    "degreescelsius": "°C",
    "°": "°",
    "f": "°F",
    "°f": "°F",
    "ºf": "°F",
    "℉": "°F",
    "degf": "°F",
    "fahrenheit": "°F",
    "degreesf": "°F",
    "degreesfahrenheit": "°F",
    "k": "K",
    "kelvin": "K",
    "º": "°",
    "deg": "°",
    "degrees": "°"
   },
   "range": [
    -273.15,
    1000
   ]
  },
  "length": {
   "base": "mm",
   "units": {
    "mm": {
     "step": 0.1,
     "factor": 1.0,
     "before": 0.0
    },
    "cm": {
     "step": 0.01,
     "factor": 10.0,
     "before": 0.0
    },
    "m": {
     "step": 0.0001,
     "factor": 1000.0,
     "before": 0.0
    },
    "in": {
     "step": 0.001,
     "factor": 25.4,
     "before": 0.0
    }
   },
   "spellings": {
    "millimetre": "mm",
    "millimetres": "mm",
    "millimeter": "mm",
    "millimeters": "mm",
    "centimetre": "cm",
    "centimetres": "cm",
    "centimeter": "cm",
    "centimeters": "cm",
    "metre": "m",
    "metres": "m",
    "meter": "m",
    "meters": "m",
    "inch": "in",
    "inches": "in",
    "\"": "in",
    "″": "in",
    "”": "in"
   },
   "range": [
    0,
    100000.0
   ]
  }
 },
 "whose": {
  "floz": "fl oz",
  "fluidounce": "fl oz",
  "fluidounces": "fl oz",
  "pint": "pint",
  "pints": "pint",
  "pt": "pint"
 }
};
