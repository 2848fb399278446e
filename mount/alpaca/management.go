package alpaca

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"strconv"

	"legroom/mount"
)

// Info is what a server says of itself.
type Info struct{ ServerName, Manufacturer, ManufacturerVersion, Location string }

// Listed is a device in a server's list. DeviceType is as listed, such as "Telescope"; in paths it is lower case. UniqueID
// stays the same for ever.
type Listed struct {
	DeviceName, DeviceType string
	DeviceNumber           int
	UniqueID               string
}

// Versions asks for the versions of the API that the host serves. This package speaks version 1.
func (h *Host) Versions(ctx context.Context) ([]int, error) {
	var versions []int
	err := h.manage(ctx, "apiversions", func(value json.RawMessage) error {
		items, err := list(value)
		if err != nil {
			return err
		}
		for _, item := range items {
			n, err := strconv.Atoi(string(item))
			if err != nil {
				return fmt.Errorf("%q is not a version", clipped(string(item)))
			}
			versions = append(versions, n)
		}
		return nil
	})
	return versions, err
}

// Info asks what the host says of itself.
func (h *Host) Info(ctx context.Context) (Info, error) {
	var in Info
	err := h.manage(ctx, "v1/description", func(value json.RawMessage) error {
		o, err := object(value)
		if err != nil {
			return err
		}
		return o.texts(map[string]*string{"ServerName": &in.ServerName, "Manufacturer": &in.Manufacturer,
			"ManufacturerVersion": &in.ManufacturerVersion, "Location": &in.Location})
	})
	return in, err
}

// Devices asks for the list of devices.
func (h *Host) Devices(ctx context.Context) ([]Listed, error) {
	var devices []Listed
	err := h.manage(ctx, "v1/configureddevices", func(value json.RawMessage) error {
		items, err := list(value)
		if err != nil {
			return err
		}
		for i, item := range items {
			l, err := listed(item)
			if err != nil {
				return fmt.Errorf("number %d of the list: %w", i+1, err)
			}
			devices = append(devices, l)
		}
		return nil
	})
	return devices, err
}

func listed(item []byte) (Listed, error) {
	o, err := object(item)
	if err != nil {
		return Listed{}, err
	}
	var l Listed
	n, err := o.value("DeviceNumber", Int)
	if err != nil {
		return Listed{}, err
	}
	l.DeviceNumber = n.(int)
	return l, o.texts(map[string]*string{"DeviceName": &l.DeviceName, "DeviceType": &l.DeviceType, "UniqueID": &l.UniqueID})
}

func (o jsonObject) texts(fields map[string]*string) error {
	for name, to := range fields {
		v, err := o.value(name, Text)
		if err != nil {
			return err
		}
		*to = v.(string)
	}
	return nil
}

// manage asks the management API and hands over the value. Its answers carry no ErrorNumber.
func (h *Host) manage(ctx context.Context, path string, take func(value json.RawMessage) error) error {
	_, err := h.exchange(ctx, http.MethodGet, "/management/"+path, nil, func(body []byte, transaction uint32) (any, error) {
		in, err := answering(body, transaction)
		if err == nil {
			var value json.RawMessage
			if value, err = in.field("Value"); err == nil {
				err = take(value)
			}
		}
		if err != nil {
			return nil, fmt.Errorf("%w: %w", mount.ErrAnswer, err)
		}
		return nil, nil
	})
	if err != nil {
		return fmt.Errorf("management/%s: %w", path, err)
	}
	return nil
}
