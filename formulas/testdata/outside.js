// Answers questions with psychrolib, the ASHRAE Handbook's psychrometrics.
// Standard input holds a list of questions, each a name and its numbers in
// SI; standard output gets the list of the answers.
const psychrolib = require("psychrolib");

psychrolib.SetUnitSystem(psychrolib.SI);

const celsius = (kelvin) => kelvin - 273.15;
const answers = {
  saturation_pressure: (t) => psychrolib.GetSatVapPres(celsius(t)),
  humidity_ratio: (p, t, humidity) => psychrolib.GetHumRatioFromRelHum(celsius(t), humidity, p),
  humidity_ratio_from_wet_bulb: (dry, wet, p) => psychrolib.GetHumRatioFromTWetBulb(celsius(dry), celsius(wet), p),
  humidity_from_wet_bulb: (dry, wet, p) => psychrolib.GetRelHumFromTWetBulb(celsius(dry), celsius(wet), p),
  dew_point: (t, humidity) => psychrolib.GetTDewPointFromRelHum(celsius(t), humidity) + 273.15,
  air_density_from_ratio: (p, t, ratio) => psychrolib.GetMoistAirDensity(celsius(t), ratio, p),
  air_density: (p, t, humidity) =>
    psychrolib.GetMoistAirDensity(celsius(t), psychrolib.GetHumRatioFromRelHum(celsius(t), humidity, p), p),
  vapour_pressure: (t, humidity) => psychrolib.GetVapPresFromRelHum(celsius(t), humidity),
  standard_pressure: (altitude) => psychrolib.GetStandardAtmPressure(altitude),
  standard_temperature: (altitude) => psychrolib.GetStandardAtmTemperature(altitude) + 273.15,
};

const questions = JSON.parse(require("fs").readFileSync(0, "utf8"));
process.stdout.write(JSON.stringify(questions.map(([name, ...numbers]) => answers[name](...numbers))));
