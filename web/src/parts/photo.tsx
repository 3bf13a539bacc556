import { useEffect, useState } from "preact/hooks";
import { useHere } from "../here";
import { t } from "../words/words";

type Which = { readonly name: string; readonly n: number; readonly count: number };

/** A photo, from this phone if it has it, else from the service. */
export function Photo({ name, n, count }: Which) {
  const { photos } = useHere();
  const [source, tell] = useState<string | null>(null);
  const [missing, miss] = useState(false);
  const [refused, stay] = useState(false);
  useEffect(() => {
    let own: string | null = null;
    let gone = false;
    void photos.read(name).then((body) => {
      if (gone) return;
      if (body) own = URL.createObjectURL(new Blob([body], { type: "image/jpeg" }));
      tell(own ?? `/api/photos/${name}`);
    });
    void photos.refused(name).then((told) => gone || stay(told));
    return () => {
      gone = true;
      if (own) URL.revokeObjectURL(own);
    };
  }, [name]);
  if (missing) return <p class="soft">{t("app.photo.elsewhere", { n })}</p>;
  return (
    <>
      <img
        class="photo"
        alt={t("app.photo.alt", { n, count })}
        {...(source === null ? {} : { src: source })}
        onError={() => miss(true)}
      />
      {refused && <p class="finding">{t("app.photo.refused", { n })}</p>}
    </>
  );
}

/** The names in a field of photos; none where it holds something else. */
export const namesOf = (value: unknown): readonly string[] =>
  Array.isArray(value) ? value.filter((one) => typeof one === "string") : [];

export function PhotoRow({ names }: { names: unknown }) {
  const all = namesOf(names);
  if (all.length === 0) return null;
  return (
    <ul class="plain-list photos">
      {all.map((name, index) => (
        <li key={name}>
          <Photo name={name} n={index + 1} count={all.length} />
        </li>
      ))}
    </ul>
  );
}
