// Passkeys: asks the browser for one and sends its answer with the form in which the button stands.
//
// A button [data-passkey] names by data-question where the server's question lies; its form has a hidden field
// (data-field, by default "passkey") that takes the answer. Without the browser's help the button stays hidden.

const bytes = (text) => {
  const plain = atob(text.replace(/-/g, "+").replace(/_/g, "/"));
  return Uint8Array.from(plain, (letter) => letter.charCodeAt(0));
};
const text = (buffer) =>
  btoa(String.fromCharCode(...new Uint8Array(buffer))).replace(/\+/g, "-").replace(/\//g, "_").replace(/=+$/, "");

const opened = (list) => (list ?? []).map((entry) => ({ ...entry, id: bytes(entry.id) }));

async function make(question) {
  return navigator.credentials.create({
    publicKey: {
      ...question,
      challenge: bytes(question.challenge),
      user: { ...question.user, id: bytes(question.user.id) },
      excludeCredentials: opened(question.excludeCredentials),
    },
  });
}

async function prove(question) {
  return navigator.credentials.get({
    publicKey: {
      ...question,
      challenge: bytes(question.challenge),
      allowCredentials: opened(question.allowCredentials),
    },
  });
}

function told(found) {
  const answer = found.response;
  const response = { clientDataJSON: text(answer.clientDataJSON) };
  for (const name of ["attestationObject", "authenticatorData", "signature", "userHandle"]) {
    if (answer[name]) response[name] = text(answer[name]);
  }
  return JSON.stringify({
    id: found.id,
    rawId: text(found.rawId),
    type: found.type,
    response,
    clientExtensionResults: found.getClientExtensionResults(),
  });
}

async function ask(button) {
  const form = button.form;
  const field = form.elements[button.dataset.field ?? "passkey"];
  const words = form.querySelector("[data-passkey-words]");
  words.textContent = "";
  if (button.dataset.passkey === "make" && !form.reportValidity()) return;
  button.disabled = true;
  try {
    const body = new URLSearchParams({
      csrfmiddlewaretoken: form.elements.csrfmiddlewaretoken.value,
      purpose: button.dataset.purpose ?? "",
    });
    const answer = await fetch(button.dataset.question, { method: "POST", body, credentials: "same-origin" });
    if (!answer.ok) throw new Error(`answered ${answer.status}`);
    const question = await answer.json();
    const found = await (button.dataset.passkey === "make" ? make(question) : prove(question));
    field.value = told(found);
    form.noValidate = true;
    form.requestSubmit();
  } catch (reason) {
    words.textContent =
      reason.name === "InvalidStateError"
        ? "This device has a passkey for you already."
        : "No passkey was used. Try once more, or go on another way.";
    button.disabled = false;
  }
}

if (window.PublicKeyCredential) {
  for (const button of document.querySelectorAll("button[data-passkey]")) {
    button.hidden = false;
    button.addEventListener("click", () => ask(button));
  }
} else {
  for (const words of document.querySelectorAll("[data-passkey-words]")) {
    words.textContent = "This browser knows no passkeys.";
  }
}
