// A screen of the shop's network before it is paired: asks for a code, and hands in what was typed.

const by_id = (id) => document.getElementById(id);
const watching = location.pathname === "/watch";

function tell(text, kind) {
  by_id("said").className = kind;
  by_id("said").textContent = text;
}

async function post(path, body) {
  try {
    const reply = await fetch(path, {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify(body),
    });
    const { error } = await reply.json();
    return reply.ok ? null : error ?? "the bench did not take it";
  } catch {
    return "the bench does not answer";
  }
}

async function ask() {
  const error = await post("/pair/ask", { screen: watching ? "watch" : "answer" });
  tell(error ?? "Look at the bench's terminal: the code is good for two minutes.", error ? "bad" : "good");
  by_id("entry").focus();
}

async function enter() {
  const code = by_id("entry").value.replaceAll(/\s/g, "");
  if (!/^[0-9]{6}$/.test(code)) {
    tell("The code has six digits.", "bad");
    return;
  }
  by_id("entry").value = "";
  const error = await post("/pair/enter", { code });
  if (error === null) {
    location.reload();
  } else {
    tell(error, "bad");
  }
}

by_id("may").textContent = watching ? "It will only look on. To answer, too: this address without /watch."
  : "It will see what the bench does, and answer for it. To look on only: this address with /watch.";
by_id("ask").addEventListener("click", ask);
by_id("pair").addEventListener("click", enter);
by_id("entry").addEventListener("keydown", (event) => event.key === "Enter" && enter());
by_id("ask").focus();
