package main

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"compress/gzip"
	"errors"
	"io/fs"
	"time"
)

// file is one file of an archive.
type file struct {
	name string
	mode fs.FileMode
	data []byte
}

// tarball packs files into a folder of the archive, each with the same time and nobody's.
func tarball(folder string, files []file, made time.Time) ([]byte, error) {
	var b bytes.Buffer
	z, err := gzip.NewWriterLevel(&b, gzip.BestCompression)
	if err != nil {
		return nil, err
	}
	t := tar.NewWriter(z)
	for _, f := range files {
		err := t.WriteHeader(&tar.Header{Typeflag: tar.TypeReg, Name: folder + "/" + f.name, Mode: int64(f.mode), Size: int64(len(f.data)), ModTime: made, Format: tar.FormatPAX})
		if err == nil {
			_, err = t.Write(f.data)
		}
		if err != nil {
			return nil, err
		}
	}
	err = errors.Join(t.Close(), z.Close())
	return b.Bytes(), err
}

// zipped is tarball as a zip file.
func zipped(folder string, files []file, made time.Time) ([]byte, error) {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, f := range files {
		h := &zip.FileHeader{Name: folder + "/" + f.name, Method: zip.Deflate, Modified: made.UTC()}
		h.SetMode(f.mode)
		w, err := z.CreateHeader(h)
		if err == nil {
			_, err = w.Write(f.data)
		}
		if err != nil {
			return nil, err
		}
	}
	err := z.Close()
	return b.Bytes(), err
}
