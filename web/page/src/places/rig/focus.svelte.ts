// Focus is the measure that the owner looks at: its drawing and slider stand beside the list.
class Focus {
  path = $state<string | null>(null);
}

export const focus = new Focus();
