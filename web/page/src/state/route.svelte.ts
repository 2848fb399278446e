import { isPlace, type PlaceId } from "../app/places";

// Route is the place and the rig that the address names: #/PLACE/RIG. A rig's id may hold slashes.
class Route {
  place = $state<PlaceId>("rig");
  rig = $state<string | null>(null);

  constructor() {
    this.#read();
    window.addEventListener("hashchange", () => this.#read());
  }

  #read() {
    const [, place, ...rig] = location.hash.split("/");
    this.place = isPlace(place) ? place : "rig";
    this.rig = rig.length > 0 ? rig.map(decodeURIComponent).join("/") : null;
  }

  href(place: PlaceId, rig: string | null = this.rig): string {
    return `#/${place}` + (rig === null ? "" : "/" + rig.split("/").map(encodeURIComponent).join("/"));
  }

  go(place: PlaceId, rig: string | null = this.rig) {
    location.hash = this.href(place, rig);
  }

  // choose names the rig without leaving a step in the history.
  choose(rig: string | null) {
    history.replaceState(null, "", this.href(this.place, rig));
    this.#read();
  }
}

export const route = new Route();
