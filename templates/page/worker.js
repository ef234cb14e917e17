// The engine's side: one request in, one answer out. An engine that panics is replaced by a new one.

let compiled;
let engine;
/** Resolves once the engine can answer. */
let ready;

/** What the engine asks of its surroundings, answered with zero: a date and an identifier that reach no file. */
function imports(module) {
  const answers = {};
  for (const { module: from, name, kind } of WebAssembly.Module.imports(module)) {
    if (kind === "function") (answers[from] ??= {})[name] = () => 0;
  }
  return answers;
}

async function start() {
  engine = (await WebAssembly.instantiate(compiled, imports(compiled))).exports;
}

/** The bytes of the engine's answer. */
function ask(request) {
  const bytes = new TextEncoder().encode(JSON.stringify(request));
  const at = engine.request(bytes.length);
  new Uint8Array(engine.memory.buffer, at, bytes.length).set(bytes);
  const length = engine.answer();
  return new Uint8Array(engine.memory.buffer, engine.answer_start(), length).slice();
}

function asked(request) {
  return JSON.parse(new TextDecoder().decode(ask(request)));
}

/** Answers what the page asks; a drag brings the view of the changed document along. */
function answered(request) {
  if (request.do === "file" || request.do === "zip") return ask(request);
  const answer = asked(request);
  if (request.do === "drag") answer.view = asked({ ...request, do: "live", text: answer.text });
  return answer;
}

/** The message of the panic that stopped the engine. */
function panicMessage() {
  try {
    const length = engine.panic_length();
    return new TextDecoder().decode(new Uint8Array(engine.memory.buffer, engine.panic_start(), length));
  } catch {
    return "";
  }
}

onmessage = async ({ data: { id, request, module } }) => {
  if (module) {
    compiled = module;
    ready = start();
    return;
  }
  await ready;
  try {
    postMessage({ id, answer: answered(request) });
  } catch (error) {
    const message = panicMessage() || String(error);
    ready = start();
    postMessage({ id, crashed: message });
  }
};
