// What was typed, kept in this browser: one database for each member, so that nobody opens another's.

const asked = (request) =>
  new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });

export class Store {
  #database;

  static async open(member) {
    const request = indexedDB.open(`pad-${member}`, 1);
    request.onupgradeneeded = () => request.result.createObjectStore("measurings", { keyPath: "id" });
    const store = new Store();
    store.#database = await asked(request);
    store.#database.onversionchange = () => store.#database.close();
    navigator.storage?.persist?.().catch(() => {});
    return store;
  }

  // Resolves when the browser says that it is written down, and not before.
  #write(act) {
    return new Promise((resolve, reject) => {
      const written = this.#database.transaction("measurings", "readwrite", { durability: "strict" });
      written.oncomplete = () => resolve();
      written.onerror = written.onabort = () => reject(written.error);
      act(written.objectStore("measurings"));
    });
  }

  keep(measuring) {
    return this.#write((table) => table.put(measuring));
  }

  drop(id) {
    return this.#write((table) => table.delete(id));
  }

  // Change one that is kept; nothing happens where it is gone, so that no late writer brings it back.
  change(id, act) {
    return this.#write((table) => {
      const request = table.get(id);
      request.onsuccess = () => {
        if (request.result) table.put(act(request.result));
      };
    });
  }

  get(id) {
    return asked(this.#database.transaction("measurings").objectStore("measurings").get(id));
  }

  async all() {
    const rows = await asked(this.#database.transaction("measurings").objectStore("measurings").getAll());
    return rows.sort((a, b) => a.begun - b.begun);
  }
}

// A key made once for each measuring; the server records one measuring for it, however often it is sent.
export function newKey() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}
