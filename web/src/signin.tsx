// The door: by the one-time link alone, or by a passphrase where one is set.
import type { ComponentChildren } from "preact";
import { useState } from "preact/hooks";
import { send, type Session } from "./api";
import { go, useDesk } from "./desk";
import { Tools } from "./frame";

// What stands here before it is known who comes, too.
export function Door(props: { children: ComponentChildren }) {
  return <main id="page" class="narrow door">
    <h1>Mistara <span lang="ar">مسطرة</span></h1>
    <div class="ticks" aria-hidden="true" />
    {props.children}
  </main>;
}

export function SignIn(props: { session: Session; refused: boolean; entered: (session: Session) => void; turn: () => void; swap: () => void }) {
  const { t } = useDesk();
  const [trouble, setTrouble] = useState("");
  const [passphrase, setPassphrase] = useState("");
  return <Door>
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
    <p><a href="/mine" onClick={(event) => { event.preventDefault(); go("/mine"); }}>{t("to_mine")}</a></p>
    <Tools turn={props.turn} swap={props.swap} leave={null} />
  </Door>;
}
