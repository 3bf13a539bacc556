/*
 * A photo is drawn anew, smaller, on a canvas: what comes out holds the picture and nothing of the camera.
 * Some browsers add notes of their own to what they write; those segments are left out too.
 */

/** The most a photo may hold, as the service takes it. */
export const MOST_BYTES = 300_000;
/** Longest side and quality of each try, until it is small enough. */
const TRIES: readonly (readonly [edge: number, quality: number])[] = [
  [1600, 0.8],
  [1600, 0.65],
  [1280, 0.65],
  [1024, 0.6],
  [800, 0.55],
  [640, 0.5],
];
/** Segments of a JPEG that hold notes: Exif and XMP, IPTC, remarks (ISO/IEC 10918-1, annex B). */
const NOTES: ReadonlySet<number> = new Set([0xe1, 0xed, 0xfe]);
const SCAN = 0xda;

/** Shrink a picture until it is small enough to send. Throws if it is none that can be drawn. */
export async function shrunk(picture: Blob): Promise<ArrayBuffer> {
  const drawn = await createImageBitmap(picture, { imageOrientation: "from-image" });
  try {
    for (const [edge, quality] of TRIES) {
      const bytes = withoutNotes(await written(drawn, edge, quality));
      if (bytes.byteLength <= MOST_BYTES) return bytes;
    }
  } finally {
    drawn.close();
  }
  throw new Error("the picture can't be made small enough");
}

async function written(picture: ImageBitmap, edge: number, quality: number): Promise<ArrayBuffer> {
  const scale = Math.min(1, edge / Math.max(picture.width, picture.height));
  const canvas = document.createElement("canvas");
  canvas.width = Math.max(1, Math.round(picture.width * scale));
  canvas.height = Math.max(1, Math.round(picture.height * scale));
  canvas.getContext("2d")?.drawImage(picture, 0, 0, canvas.width, canvas.height);
  const blob = await new Promise<Blob | null>((done) => canvas.toBlob(done, "image/jpeg", quality));
  if (blob === null) throw new Error("the picture could not be written");
  return blob.arrayBuffer();
}

/** A JPEG without the segments in which cameras and programs note things. */
export function withoutNotes(jpeg: ArrayBuffer): ArrayBuffer {
  const bytes = new Uint8Array(jpeg);
  const parts: Uint8Array[] = [bytes.subarray(0, 2)];
  let at = 2;
  while (at + 4 <= bytes.length && bytes[at] === 0xff && bytes[at + 1] !== SCAN) {
    const end = at + 2 + (((bytes[at + 2] ?? 0) << 8) | (bytes[at + 3] ?? 0));
    if (!NOTES.has(bytes[at + 1] ?? 0)) parts.push(bytes.subarray(at, end));
    at = end;
  }
  parts.push(bytes.subarray(at));
  const whole = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0));
  let to = 0;
  for (const part of parts) {
    whole.set(part, to);
    to += part.length;
  }
  return whole.buffer;
}
