import { expect, test } from "vitest";
import {
  ago,
  anything,
  day,
  days,
  estimate,
  inDays,
  instant,
  measure,
  number,
  readNumber,
  weighed,
} from "./written";

test("figures have as many digits as somebody at a bin can use", () => {
  const shown = [1234.5, 123.4, 12.34, 1.234, 0.742, 0.0123, -5, 0].map((value) => number("en", value));
  expect(shown).toEqual(["1,235", "123", "12.3", "1.23", "0.74", "0.012", "−5", "0"]);
});

test("the decimal sign is that of the language", () => {
  expect(number("de", 12.5)).toBe("12,5");
});

test("shares are said per cent, and lengths below a metre in centimetres", () => {
  expect(measure("en", 0.65, "1")).toBe("65\u00a0%");
  expect(measure("en", 0.07, "m")).toBe("7\u00a0cm");
  expect(measure("en", 2, "m")).toBe("2\u00a0m");
});

test("what was reckoned is told to the digits its range leaves a meaning to, in the unit its size asks for", () => {
  const of = (value: number, low: number | null, high: number | null, unit = "kg") => {
    const said = estimate("en", value, low, high, unit);
    return `${said.amount} (${said.low} to ${said.high})`.replaceAll("\u00a0", " ");
  };
  expect(of(5822, 3900, 8100, "larva")).toBe("6,000 larva (4,000 to 8,000)");
  expect(of(1.87, 1.53, 2.18)).toBe("1.9 kg (1.5 to 2.2)");
  expect(of(0.066, 0.033, 0.121)).toBe("70 g (30 to 120)");
  expect(of(0.71, 0.2, 1.3)).toBe("700 g (200 to 1,300)");
  expect(of(0.65, 0.58, 0.749, "1")).toBe("65 % (58 to 75)");
  expect(of(0.071, 0.06, 0.08, "m")).toBe("7.1 cm (6 to 8)");
});

test("a mass is said in grams below a kilogram, to two digits, and in kilograms from there", () => {
  const said = [0.066, 0.359, 0.0042, 0.994, 0.996, 1.24, 0, -0.5].map((kg) => weighed("en", kg));
  expect(said.map((one) => one.replace("\u00a0", " "))).toEqual([
    "66 g",
    "360 g",
    "4.2 g",
    "990 g",
    "1 kg",
    "1.24 kg",
    "0 kg",
    "−500 g",
  ]);
  expect(weighed("de", 1.5)).toBe("1,5\u00a0kg");
});

test("where one end of a time lies in another year, both name theirs", () => {
  expect(days("en-GB", "2026-12-29", "2027-01-23", "2026-11-30")).toEqual(["29 Dec 2026", "23 Jan 2027"]);
  expect(days("de", "2025-12-01", "2026-11-30", "2026-11-30")).toEqual(["1. Dez. 2025", "30. Nov. 2026"]);
  expect(days("en-GB", "2026-12-01", "2026-12-23", "2026-11-30")).toEqual(["1 Dec", "23 Dec"]);
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
