package indi

import (
	"context"
	"testing"
)

func BenchmarkRead(b *testing.B) {
	m := newServed(b)
	tel, err := Open(context.Background(), "indi://"+serve(b, m.Server)+"/M")
	if err != nil {
		b.Fatal(err)
	}
	defer tel.Close()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := tel.Read(context.Background()); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkParse(b *testing.B) {
	one := []byte(setPlace("Ok", "5:30:00", "-0:15:00"))
	b.SetBytes(int64(len(one)))
	b.ReportAllocs()
	r := NewReader(&endless{more: string(one)})
	for b.Loop() {
		if _, err := r.Next(); err != nil {
			b.Fatal(err)
		}
	}
}
