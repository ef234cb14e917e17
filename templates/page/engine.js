// The page's side of the engine: two workers, so that a whole build never holds up a moving hand.

/** An engine that stopped on a document. */
export class EngineStopped extends Error {}

class Engine {
  constructor(address, module) {
    this.waiting = new Map();
    this.next = 0;
    this.worker = new Worker(address);
    this.worker.postMessage({ module });
    this.worker.onmessage = ({ data: { id, answer, crashed } }) => {
      const { resolve, reject } = this.waiting.get(id);
      this.waiting.delete(id);
      if (crashed === undefined) resolve(answer);
      else reject(new EngineStopped(crashed));
    };
  }

  /** The answer to a request. */
  ask(request) {
    return new Promise((resolve, reject) => {
      this.waiting.set(this.next, { resolve, reject });
      this.worker.postMessage({ id: this.next++, request });
    });
  }
}

/** Engines for the moving hand and for whole builds, from the page's own elements. */
export async function engines() {
  const packed = Uint8Array.from(atob(document.getElementById("engine").textContent), (c) => c.charCodeAt(0));
  document.getElementById("engine").remove();
  const unpacked = new Response(new Blob([packed]).stream().pipeThrough(new DecompressionStream("deflate-raw")));
  const module = await WebAssembly.compile(await unpacked.arrayBuffer());
  const script = document.getElementById("worker").textContent;
  const address = URL.createObjectURL(new Blob([script], { type: "text/javascript" }));
  return { live: new Engine(address, module), full: new Engine(address, module) };
}
