// The door: by the one-time link alone, or by a passphrase where one is set.
import { useState } from "preact/hooks";
import { send, type Session } from "./api";
import { useDesk } from "./desk";

export function SignIn(props: { session: Session; refused: boolean; entered: (session: Session) => void }) {
  const { t } = useDesk();
  const [trouble, setTrouble] = useState("");
  const [passphrase, setPassphrase] = useState("");
  return <main id="page" class="narrow door">
    <h1>Mistara <span lang="ar">مسطرة</span></h1>
    <div class="ticks" aria-hidden="true" />
    {props.refused && <p role="alert" class="trouble">{t("link_old")}</p>}
    {props.session.ways.includes("link") && !props.refused && <p>{t("enter_by_link")}</p>}
    {props.session.ways.includes("passphrase") && <form onSubmit={(event) => {
      event.preventDefault();
      send<Session>("POST", "session", { passphrase }).then(props.entered, (error: Error) => setTrouble(error.message));
    }}>
      <label>{t("passphrase")}
        <input type="password" autocomplete="current-password" required value={passphrase}
          onInput={(event) => setPassphrase(event.currentTarget.value)} />
      </label>
      <button type="submit">{t("enter")}</button>
      {trouble && <p role="alert" class="trouble">{trouble}</p>}
    </form>}
  </main>;
}
