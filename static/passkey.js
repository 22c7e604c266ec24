// Passkeys. A form with data-passkey="make" or "prove" asks the server by data-begin what to ask the device, the device by the
// browser, and then sends itself with the answer. Where the browser has no passkeys the form stays hidden.
(() => {
  "use strict";

  const bytes = (text) => {
    const plain = atob(text.replaceAll("-", "+").replaceAll("_", "/"));
    return Uint8Array.from(plain, (letter) => letter.charCodeAt(0));
  };
  const text = (buffer) => {
    const plain = String.fromCharCode(...new Uint8Array(buffer));
    return btoa(plain).replaceAll("+", "-").replaceAll("/", "_").replaceAll("=", "");
  };
  const named = (list) => list.map((one) => ({ ...one, id: bytes(one.id) }));

  const ways = {
    make: {
      call: (ask) =>
        navigator.credentials.create({
          publicKey: {
            ...ask,
            challenge: bytes(ask.challenge),
            user: { ...ask.user, id: bytes(ask.user.id) },
            excludeCredentials: named(ask.excludeCredentials),
          },
        }),
      answer: (response) => ({
        attestationObject: text(response.attestationObject),
        transports: response.getTransports ? response.getTransports() : [],
      }),
    },
    prove: {
      call: (ask) =>
        navigator.credentials.get({
          publicKey: {
            ...ask,
            challenge: bytes(ask.challenge),
            allowCredentials: named(ask.allowCredentials),
          },
        }),
      answer: (response) => ({
        authenticatorData: text(response.authenticatorData),
        signature: text(response.signature),
        userHandle: response.userHandle && response.userHandle.byteLength > 0 ? text(response.userHandle) : null,
      }),
    },
  };

  const why = (error) => {
    if (error.name === "InvalidStateError") return "This device has a passkey of yours already.";
    if (error.name === "SecurityError") return "The browser allows no passkeys at this address.";
    return "Nothing came back from the device. Try again, or take another way.";
  };

  async function run(form) {
    const way = ways[form.dataset.passkey];
    const answer = await fetch(form.dataset.begin, { method: "POST" });
    if (!(answer.headers.get("content-type") || "").startsWith("application/json")) {
      throw { words: "That can’t begin just now. Load this page again." };
    }
    const begun = await answer.json();
    if (begun.words) throw begun;
    const made = await way.call(begun.ask);
    // Whether this is one's own device is ticked beside the passphrase, for both ways in.
    const own = document.getElementById("own-device");
    if (own && form.elements["own-device"]) form.elements["own-device"].value = own.checked ? own.value : "";
    form.elements.begun.value = begun.begun;
    form.elements.credential.value = JSON.stringify({
      id: made.id,
      rawId: text(made.rawId),
      type: made.type,
      authenticatorAttachment: made.authenticatorAttachment || null,
      clientExtensionResults: {},
      response: { clientDataJSON: text(made.response.clientDataJSON), ...way.answer(made.response) },
    });
    form.submit();
  }

  if (!window.PublicKeyCredential) return;
  for (const form of document.querySelectorAll("form[data-passkey]")) {
    form.hidden = false;
    form.addEventListener("submit", async (event) => {
      event.preventDefault();
      const words = form.querySelector("[data-passkey-words]");
      const button = form.querySelector("button");
      button.disabled = true;
      words.textContent = "Waiting for your device…";
      try {
        await run(form);
      } catch (error) {
        words.textContent = error.words || why(error);
        button.disabled = false;
      }
    });
  }
  for (const words of document.querySelectorAll("[data-without-passkeys]")) words.hidden = true;
})();
