// To and from the program: one stream of events in, answers out.

const watching = location.pathname === "/watch";

export function listen(handlers) {
  const stream = new EventSource(watching ? "/watch/events" : "/events");
  for (const [name, handler] of Object.entries(handlers)) {
    if (name !== "link") stream.addEventListener(name, (event) => handler(JSON.parse(event.data)));
  }
  stream.addEventListener("open", () => handlers.link(true));
  stream.addEventListener("error", () => handlers.link(false, stream.readyState === EventSource.CLOSED));
  return stream;
}

async function post(path, body) {
  try {
    const reply = await fetch(path, {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify(body),
    });
    return { ok: reply.ok, status: reply.status, body: await reply.json() };
  } catch {
    return { ok: false, status: 0, body: { error: "the bench does not answer" } };
  }
}

// The answer to the prompt that `state` shows, and to no other.
export const answer = (state, line) =>
  post("/answer", { step: state.step?.id ?? "", nonce: state.nonce ?? "", line });

export const echo = (text) => post("/echo", { text });
