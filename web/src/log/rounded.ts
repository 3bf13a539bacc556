/** What a part of a container weighs: filled by eye, it is known to two digits. [kg] */
export const byEye = (kg: number): number => Number(kg.toPrecision(2));

/**
 * A figure to as many digits as its 80 % range leaves a meaning to: of 5,822 with a range from 3,900 to 8,100
 * people keep 6,000. An uncertainty is given to at most two digits, and the figure no further than that
 * (JCGM 100:2008, 7.2.6); here to the power of ten that goes into the range three times or more, so that no
 * end of it moves by more than a sixth of the range.
 */
export function rounded(value: number, low: number, high: number): number {
  if (!(high > low)) return value;
  const digits = -Math.floor(Math.log10((high - low) / 3));
  // By powers of ten above nought on either side: 0.1 itself can't be held exactly, 10 can.
  const found =
    digits > 0
      ? Math.round(value * 10 ** digits) / 10 ** digits
      : Math.round(value / 10 ** -digits) * 10 ** -digits;
  if (found !== 0) return found;
  // An end may be told as nought; what lies between the ends is more than that.
  return value === low || value === high ? 0 : Number(value.toPrecision(1));
}
