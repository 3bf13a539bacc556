import { expect, test } from "vitest";
import { withoutNotes } from "./shrink";

const segment = (mark: number, text: string) => {
  const content = [...new TextEncoder().encode(text)];
  return [0xff, mark, 0, content.length + 2, ...content];
};
const START = [0xff, 0xd8];
const PICTURE = [0xff, 0xda, 0, 2, 0x12, 0xff, 0x00, 0xff, 0xe1, 0x34, 0xff, 0xd9];

test("what a camera or a program noted is left out of a JPEG, and the picture stays as it was", () => {
  const kept = [...segment(0xe0, "JFIF"), ...segment(0xe2, "colours"), ...segment(0xdb, "tables")];
  const notes = [...segment(0xe1, "Exif where"), ...segment(0xed, "IPTC who"), ...segment(0xfe, "remark")];
  const jpeg = new Uint8Array([...START, ...notes, ...kept, ...PICTURE]);
  expect([...new Uint8Array(withoutNotes(jpeg.buffer))]).toEqual([...START, ...kept, ...PICTURE]);
});
