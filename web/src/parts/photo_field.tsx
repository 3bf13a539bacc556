import { useRef, useState } from "preact/hooks";
import { useHere } from "../here";
import { shrunk } from "../log/shrink";
import { t } from "../words/words";
import { namesOf, Photo } from "./photo";

/** More would not be looked at. */
const MOST = 3;

/** Photos of what was seen: taken, made small, and on the disk before the entry that names them. */
export function PhotoField({
  label,
  value,
  onChange,
}: {
  label: string;
  value: unknown;
  onChange(value: unknown): void;
}) {
  const { photos } = useHere();
  const camera = useRef<HTMLInputElement>(null);
  const [state, tell] = useState<"" | "working" | "failed">("");
  const names = namesOf(value);
  // Names by content need a page that came safely; over plain http there is no way to make them.
  if (globalThis.crypto?.subtle === undefined) return null;
  const give = (next: readonly string[]) => onChange(next.length === 0 ? undefined : next);
  const add = async (picture: File | undefined) => {
    if (picture === undefined) return;
    tell("working");
    try {
      const name = await photos.keep(await shrunk(picture), Date.now());
      give([...new Set([...names, name])]);
      tell("");
    } catch {
      tell("failed");
    }
  };
  return (
    <fieldset class="choice photo-field">
      <legend>{label}</legend>
      {names.map((name, index) => (
        <div key={name} class="photo-one">
          <Photo name={name} n={index + 1} count={names.length} />
          <button type="button" class="pick" onClick={() => give(names.filter((one) => one !== name))}>
            {t("app.photo.remove", { n: index + 1 })}
          </button>
        </div>
      ))}
      {names.length < MOST && (
        <button
          type="button"
          class="pick"
          disabled={state === "working"}
          onClick={() => camera.current?.click()}
        >
          {t(names.length === 0 ? "app.photo.take" : "app.photo.another")}
        </button>
      )}
      <input
        ref={camera}
        type="file"
        hidden
        accept="image/*"
        capture="environment"
        onChange={(event) => {
          void add(event.currentTarget.files?.[0]);
          event.currentTarget.value = "";
        }}
      />
      <p class="soft" role="status">
        {t(state === "" ? "app.photo.about" : `app.photo.${state}`)}
      </p>
    </fieldset>
  );
}
