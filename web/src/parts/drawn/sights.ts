/**
 * What good and bad look like, drawn for this project as strokes on a field of 96 × 64: what both share,
 * then what tells them apart. They show more and less, never how much.
 */
export type Sight = { readonly both: string; readonly good: string; readonly bad: string };

const BED = "M5 14 13 56H83L91 14";
const FISH_LOW = "M30 40c5-7 15-7 20 0-5 7-15 7-20 0ZM50 40l7-5v10zM35 39h.01";
const FISH_LOW_TOO = "M60 47c4-5 11-5 15 0-4 5-11 5-15 0ZM75 47l5-4v8zM64 46h.01";

export const SIGHTS: Readonly<Record<string, Sight>> = {
  thermometer: {
    both: `${BED}M8 28c20-4 30 4 45 0s25 2 35 0`,
    good: "M48 4v36M48 40a4 4 0 1 0 .01 0M53 10h4M53 16h3",
    bad: "M88 8 78 30M78 30a4 4 0 1 0 .01 0M84 6l4-3",
  },
  layer: {
    both: BED,
    good: "M10 40h76M17 38l4-4 4 4M33 38c1-5 7-5 8 0M50 38l4-5 4 5M66 38c1-4 6-4 7 0M8 30c7-4 11 3 18 0s11-3 18 0 11 3 18 0 11-3 18 0 5 2 8 0",
    bad: "M10 46h76M26 46C30 16 64 14 70 46M36 38l5-6 5 6M50 30c1-6 9-6 10 0M44 24l4-4M34 8h.01M46 12h.01M58 6h.01M66 14h.01",
  },
  bedding: {
    both: BED,
    good: "M10 50c8-6 12 2 20-3s12 4 20-1 12 3 20-1 10 3 15 1M10 42c9-5 13 3 21-2s13 3 21-1 13 3 21-1 8 2 12 1M14 34c8-6 14 3 22-2s13 4 21-1 12 3 20 0",
    bad: "M12 46h72M15 34h66v12M15 34v12M24 52c0 2-2 3-2 4M48 52c0 2-2 3-2 4M70 52c0 2-2 3-2 4M22 40h14M46 40h18",
  },
  scoop: {
    both: "M22 30c0 17 9 26 23 26s23-9 23-26M68 34 90 18",
    good: "M22 30h46M32 40c3-4 5 3 8-1s5 3 8-1M44 49c3-4 5 3 8-1",
    bad: "M22 30C28 6 62 6 68 30M34 24c3-4 5 3 8-1s5 3 8-1M34 40c3-4 5 3 8-1M58 12l6-6M72 20l5-4",
  },
  leftover: {
    both: `${BED}M9 38h78`,
    good: "M30 34h.01M41 33l4-3M57 34h.01M66 33h.01",
    bad: "M22 38C28 18 68 16 74 38M34 31c1-6 9-6 10 0M50 28l5-6 5 6M28 20v-5M40 14v-5M56 13v-5M68 19v-5",
  },
  castings: {
    both: "M8 56C18 22 78 22 88 56Z",
    good: "M26 48h.01M36 42h.01M34 51h.01M46 37h.01M47 47h.01M57 42h.01M58 51h.01M68 48h.01M52 31h.01",
    bad: "M26 49l6-6 6 6M44 38c2-7 11-7 12 0M60 50l6-7 6 7M40 52c4-5 7 3 11-1s6 2 9-1",
  },
  larvae: {
    both: "M8 14 16 56H60L88 12M16 40h30",
    good: "M64 46l5-8M73 32l5-8M66 43l1-2M75 29l1-2M64 46l5-8",
    bad: "M22 34c2-5 9-5 10 0-2 4-8 4-10 0ZM36 33c2-5 9-5 10 0-2 4-8 4-10 0ZM6 10c2-4 8-4 9 0M18 10c-2-5-8-5-9-1M62 44c1-5 7-8 9-5s-4 7-9 5Z",
  },
  fifty: {
    both: "M14 40h68M48 40v10M30 56h36M24 40c0-10 48-10 48 0",
    good: "M36 34l3-4M44 33l3-4M52 33l3-4M60 34l3-4M30 18h36M34 22h28",
    bad: "M34 33c2-5 9-5 10 0M50 32l6-6 6 6M72 34c8 0 10 6 14 4M38 18c4-4 8-4 8 0s-6 4-6 8M40 31h.01",
  },
  pond: {
    both: "M4 22h88M8 22c4 40 76 40 80 0",
    good: `${FISH_LOW}${FISH_LOW_TOO}M22 18h.01M30 17h.01M38 18h.01`,
    bad: "M28 24c12-4 22 5 21 17-12 3-22-4-21-17ZM49 41l10 0-6 8zM34 29h.01M56 24c11-3 19 4 18 14-11 3-19-3-18-14ZM74 38l9 0-6 7zM61 28h.01M18 16c3-4 9-4 12 0M46 16c3-4 9-4 12 0",
  },
  hive: {
    both: "M28 24h40v32H28zM22 24 48 8l26 16M40 56c0-8 16-8 16 0M28 40h40",
    good: "M8 44h.01M12 41l3-3M16 50h.01M20 47l3-3M82 42h.01M80 39l-3-3M90 48h.01M88 45l-3-3",
    bad: "M26 61h.01M33 62h.01M40 60h.01M47 62h.01M54 61h.01M61 62h.01M68 61h.01M10 40l6 6M16 40l-6 6M82 40l6 6M88 40l-6 6",
  },
};
