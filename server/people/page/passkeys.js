// What the log-in and account pages do with passkeys, in the browser. The library that speaks WebAuthn is loaded before.
/* global SimpleWebAuthnBrowser */
const said = document.querySelector("#said");
const at = "/api/auth/passkey/";

document.querySelector("#use-passkey")?.addEventListener("click", () =>
  attempt(async () => {
    const optionsJSON = await ask("generate-authenticate-options");
    const response = await SimpleWebAuthnBrowser.startAuthentication({ optionsJSON });
    await ask("verify-authentication", { response });
    location.assign("/");
  }),
);

document.querySelector("#add-passkey")?.addEventListener("click", () =>
  attempt(async () => {
    const optionsJSON = await ask("generate-register-options");
    const response = await SimpleWebAuthnBrowser.startRegistration({ optionsJSON });
    await ask("verify-registration", { response });
    location.reload();
  }),
);

for (const button of document.querySelectorAll("[data-passkey]")) {
  button.addEventListener("click", () =>
    attempt(async () => {
      await ask("delete-passkey", { id: button.dataset.passkey });
      location.reload();
    }),
  );
}

async function attempt(work) {
  said.textContent = "";
  try {
    await work();
  } catch (error) {
    said.textContent =
      error.name === "NotAllowedError" ? "Nothing was done. Try again." : `That did not work: ${error.message}`;
  }
}

async function ask(path, body) {
  const headers = { "Content-Type": "application/json" };
  const answer = await fetch(at + path, body ? { method: "POST", headers, body: JSON.stringify(body) } : {});
  const told = await answer.json().catch(() => null);
  if (!answer.ok) throw new Error(told?.message ?? "the server refused it. Log in anew, then try again.");
  return told;
}
