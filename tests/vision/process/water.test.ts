import { expect, it } from "vitest";
import { waterAt, waterViscosity } from "../../../vision/process/water.ts";
import { VISCOSITY_CRC, VISCOSITY_SR6, WATER_IAPWS } from "../../published/water-properties.ts";
import { expectAgree } from "./agree.ts";

it.each(WATER_IAPWS)("agrees with IAPWS at %i °C", (c, rho, mu, nu, sigma) => {
  const water = waterAt(c);
  expectAgree(water.densityKgPerM3, rho, 1e-5);
  expectAgree(water.viscosityPaS * 1e3, mu, 5e-4);
  expectAgree(water.kinematicM2PerS * 1e6, nu, 5e-4);
  expectAgree(water.surfaceTensionNPerM, sigma, 2e-4);
});

it.each(VISCOSITY_SR6)("repeats IAPWS SR6-08 at %f °C", (c, mu) => expectAgree(waterViscosity(c) * 1e3, mu, 1e-6));
it.each(VISCOSITY_CRC)("agrees with the CRC Handbook at %i °C", (c, mu) =>
  expectAgree(waterViscosity(c) * 1e3, mu, 1e-3),
);

it.each([-0.1, 100.1, Number.NaN])("refuses water of %f °C", (c) => {
  expect(() => waterAt(c)).toThrow(expect.objectContaining({ code: "out-of-range" }));
});
