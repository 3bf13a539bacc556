import { useEffect, useState } from "preact/hooks";
import { useHere } from "../../here";
import { t } from "../../words/words";

/** Photos the service will not take: told where one looks whether all is sent, and where one makes room. */
export function PhotosRefused() {
  const { photos } = useHere();
  const [count, tell] = useState(0);
  useEffect(() => void photos.size().then(({ refused }) => tell(refused)), []);
  return count > 0 ? <p class="notice">{t("app.about.photos_refused", { count })}</p> : null;
}
