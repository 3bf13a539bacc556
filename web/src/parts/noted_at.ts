import { kindsFor } from "../log/knowledge";
import { to } from "../route";

/**
 * The way to the record that ends a job or a matter, begun with what that says already; null where the station
 * takes no such record.
 */
export function notedAt(
  station: { readonly id: string; readonly type: string },
  kind: string | undefined,
  one: { readonly what: string; readonly side: string | null },
): string | null {
  if (kind === undefined || !kindsFor(station.type).includes(kind)) return null;
  return to("station", station.id, "record", kind, one.what, ...(one.side === null ? [] : [one.side]));
}
