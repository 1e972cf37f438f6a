// What the device keeps: drafts, pictures and how the page is set, in the browser's own database.

const STORE_NAME = "evalkit-bench";
const STORE_VERSION = 1;
const PATIENCE_MS = 4000;

/** The store, or null where this browser offers none. */
function openStore() {
  return new Promise((resolve) => {
    const late = setTimeout(() => resolve(null), PATIENCE_MS);
    const answer = (store) => {
      clearTimeout(late);
      resolve(store);
    };
    try {
      const request = indexedDB.open(STORE_NAME, STORE_VERSION);
      request.onupgradeneeded = () => {
        request.result.createObjectStore("drafts", { keyPath: "key" });
        request.result.createObjectStore("photos", { keyPath: ["round_key", "sha256"] });
        request.result.createObjectStore("settings", { keyPath: "name" });
      };
      request.onsuccess = () => answer(storeOn(request.result));
      request.onerror = () => answer(null);
      request.onblocked = () => answer(null);
    } catch {
      answer(null);
    }
  });
}

/** One transaction that is on the disk before it says yes. `act` gets the object stores by name. */
function transact(db, names, mode, act) {
  return new Promise((resolve, reject) => {
    const transaction = db.transaction(names, mode, { durability: "strict" });
    let answer;
    transaction.oncomplete = () => resolve(answer);
    transaction.onabort = () => reject(transaction.error || new Error("given up"));
    act(
      (name) => transaction.objectStore(name),
      (value) => {
        answer = value;
      },
      transaction,
    );
  });
}

function storeOn(db) {
  db.onversionchange = () => db.close();
  const get = (name, key) =>
    transact(db, [name], "readonly", (store, say) => {
      store(name).get(key).onsuccess = (event) => say(event.target.result || null);
    });
  const put = (name, value) =>
    transact(db, [name], "readwrite", (store) => {
      store(name).put(value);
    });
  return {
    load: (key) => get("drafts", key),
    save: (draft, owner) => saveDraft(db, draft, owner),
    takeOver: (key, owner) => takeOver(db, key, owner),
    putPhoto: (photo) => put("photos", photo),
    getPhoto: (key, sha256) => get("photos", [key, sha256]),
    deletePhoto: (key, sha256) =>
      transact(db, ["photos"], "readwrite", (store) => {
        store("photos").delete([key, sha256]);
      }),
    getSetting: (name) => get("settings", name),
    putSetting: (name, value) => put("settings", { name, value }),
  };
}

/** True when the draft is kept; false when the round is open in another window by now, and nothing was changed. */
function saveDraft(db, draft, owner) {
  return transact(db, ["drafts"], "readwrite", (store, say) => {
    store("drafts").get(draftKey(draft)).onsuccess = (event) => {
      const found = event.target.result;
      const isOurs = !found || found.owner === owner;
      if (isOurs) store("drafts").put({ key: draftKey(draft), owner, draft });
      say(isOurs);
    };
  });
}

/** Makes `owner` the one who writes; answers the draft kept so far, or null. */
function takeOver(db, key, owner) {
  return transact(db, ["drafts"], "readwrite", (store, say) => {
    store("drafts").get(key).onsuccess = (event) => {
      const found = event.target.result;
      if (found) store("drafts").put({ ...found, owner });
      say(found ? found.draft : null);
    };
  });
}
