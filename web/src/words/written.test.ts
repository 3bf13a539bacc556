import { expect, test } from "vitest";
import { ago, anything, day, ends, inDays, instant, measure, number, ration, readNumber } from "./written";

test("figures have as many digits as somebody at a bin can use", () => {
  const shown = [1234.5, 123.4, 12.34, 1.234, 0.742, 0.0123, -5, 0].map((value) => number("en", value));
  expect(shown).toEqual(["1,235", "123", "12.3", "1.23", "0.74", "0.012", "−5", "0"]);
});

test("the decimal sign is that of the language", () => {
  expect(number("de", 12.5)).toBe("12,5");
});

test("shares are said per cent, and lengths below a metre in centimetres, spans included", () => {
  expect(measure("en", 0.65, "1")).toBe("65\u00a0%");
  expect(measure("en", 0.07, "m")).toBe("7\u00a0cm");
  expect(ends("en", 0.06, 0.08, "m", 0.07)).toEqual({ low: "6", high: "8" });
  expect(measure("en", 2, "m")).toBe("2\u00a0m");
});

test("a small ration is said in whole tens of grams, its span with it, and a larger one in kilograms", () => {
  expect(ration("en", 0.078, 0.033, 0.121)).toEqual({ figure: "80", low: "30", high: "120", unit: "g" });
  expect(ration("en", 0.112, 0.06, 0.34)).toEqual({ figure: "0.11", low: "0.06", high: "0.34", unit: "kg" });
  expect(ration("de", 0.0042)).toEqual({ figure: "4,2", low: "4,2", high: "4,2", unit: "g" });
  expect(ration("en", 0)).toEqual({ figure: "0", low: "0", high: "0", unit: "kg" });
});

test("days of another year say so", () => {
  expect(day("en-GB", "2026-03-09", "2026-11-25")).toBe("9 Mar");
  expect(day("en-GB", "2027-03-09", "2026-11-25")).toBe("9 Mar 2027");
});

test("a time is said as it was written, whatever zone the phone is in", () => {
  expect(instant("en-GB", "2026-11-25T07:30:00+13:00", "2026-11-25")).toBe("07:30");
  expect(instant("en-GB", "2026-11-24T23:05:00-09:30", "2026-11-25")).toBe("24 Nov, 23:05");
});

test("values in a message are known by their form", () => {
  expect(anything("en-GB", "2026-03-09", "2026-11-25")).toBe("9 Mar");
  expect(anything("en-GB", "trough", "2026-11-25")).toBe("trough");
  expect(anything("en-GB", null, "2026-11-25")).toBe("–");
});

test("the past and the days to come are said in words", () => {
  const now = new Date("2026-11-25T12:00:00Z");
  expect(ago("en", "2026-11-25T11:59:50Z", now)).toBe("now");
  expect(ago("en", "2026-11-25T10:00:00Z", now)).toBe("2 hours ago");
  expect(inDays("en", 1)).toBe("tomorrow");
});

test("numbers are read as their writer means them: own decimal sign or the other, thousands, wide digits", () => {
  expect(readNumber("en-GB", "12.5")).toBe(12.5);
  expect(readNumber("en-GB", "12,5")).toBe(12.5);
  expect(readNumber("en-GB", "1,234")).toBe(1234);
  expect(readNumber("de", "1.234,5")).toBe(1234.5);
  expect(readNumber("de", "0,5")).toBe(0.5);
  expect(readNumber("de", "12.5")).toBe(12.5);
  expect(readNumber("fr", "1 234,5")).toBe(1234.5);
  expect(readNumber("ja", "１２．５")).toBe(12.5);
  expect(readNumber("en", "−3")).toBe(-3);
  expect(readNumber("en", "12.")).toBe(12);
  expect(readNumber("en", "about 3")).toBeUndefined();
  expect(readNumber("en", "")).toBeUndefined();
});
