/** The time as entries write it: RFC 3339 with the phone's own offset, so that the local day is kept. */
const two = (value: number) => String(value).padStart(2, "0");

export function rfc3339(date: Date): string {
  const offset = -date.getTimezoneOffset();
  const size = Math.abs(offset);
  const zone = `${offset < 0 ? "-" : "+"}${two(Math.floor(size / 60))}:${two(size % 60)}`;
  return `${localMinute(date)}:${two(date.getSeconds())}${zone}`;
}

/** `YYYY-MM-DDTHH:MM`, what a date-and-time field of a page holds. */
export function localMinute(date: Date): string {
  return `${localDay(date)}T${two(date.getHours())}:${two(date.getMinutes())}`;
}

/** `YYYY-MM-DDTHH:MM` of an entry's time, by the clock it was written with; one in UTC by the phone's. */
export const writtenMinute = (at: string): string =>
  at.endsWith("Z") ? localMinute(new Date(at)) : at.slice(0, 16);

/** An entry's time put right: another minute of the same clock. */
export const movedTo = (at: string, minute: string): string =>
  at.endsWith("Z") ? rfc3339(new Date(minute)) : `${minute}:00${at.slice(-6)}`;

/** `YYYY-MM-DD` of the phone's own day. */
export function localDay(date: Date): string {
  return `${date.getFullYear()}-${two(date.getMonth() + 1)}-${two(date.getDate())}`;
}

/** The `YYYY-MM-DD` so many days after another. */
export function addDays(day: string, days: number): string {
  const date = new Date(`${day}T00:00Z`);
  date.setUTCDate(date.getUTCDate() + days);
  return date.toISOString().slice(0, 10);
}

/** Whole days from one `YYYY-MM-DD` to another; a day is counted as a day across clock changes. */
export function daysBetween(from: string, to: string): number {
  return Math.round((Date.parse(`${to}T00:00Z`) - Date.parse(`${from}T00:00Z`)) / 86_400_000);
}
