import { painted } from "../painted";

/**
 * A ref that lets a part keep the room it had when it was first drawn, until its screen is left: a new plan may come much
 * later than the press it answers, and must not move what lies below because a line of it has become shorter.
 */
export const keepRoom = (part: HTMLElement | null): void => {
  // Asked for before the frame, its height would be reckoned on the way of the tap, and once more after.
  void painted().then(() => {
    if (part?.isConnected) part.style.minHeight = `${part.offsetHeight}px`;
  });
};
