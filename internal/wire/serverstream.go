package wire

import (
	"fmt"
	"math"
	"strings"

	"github.com/jfreymuth/pulse/proto"
)

// begin makes the stream and starts it.
func (c *serverCapture) begin(src *proto.GetSourceInfoReply, w Want) error {
	spec, channels := src.SampleSpec, src.ChannelMap
	if _, known := formats[spec.Format]; !known {
		spec.Format = proto.FormatFloat32LE
	}
	if w.RateHz > 0 {
		spec.Rate = uint32(math.Round(w.RateHz))
	}
	if w.Channels > 0 && w.Channels != int(spec.Channels) {
		spec.Channels = byte(w.Channels)
		channels = channelMap(w.Channels)
	}
	coding, err := ParseCoding(formatName(spec.Format))
	if err != nil {
		return err
	}
	frame := float64(coding.Bytes() * int(spec.Channels))
	c.rate = float64(spec.Rate)
	c.deliveries = make(chan delivery, int(serverWaitingS/serverBlockS))
	c.link.client.Callback = c.called // before the stream is there
	request := proto.CreateRecordStream{
		SampleSpec: spec, ChannelMap: channels, SourceIndex: src.SourceIndex,
		BufferMaxLength: proto.Undefined, BufferFragSize: uint32(serverBlockS*c.rate) * uint32(frame), Corked: true, AdjustLatency: true,
		DirectOnInputIndex: proto.Undefined, Properties: proto.PropList{"media.name": proto.PropListString("recording for the bench")},
		ChannelVolumes: volumes(int(spec.Channels)),
	}
	if c.server.buffer > 0 {
		request.BufferMaxLength = c.server.buffer
	}
	var reply proto.CreateRecordStreamReply
	if err := c.link.client.Request(&request, &reply); err != nil {
		return &Fault{Kind: Died, Err: err, Text: fmt.Sprintf("the sound server does not record from %s: %v", src.SourceName, err)}
	}
	c.mu.Lock()
	c.stream = reply.StreamIndex
	c.mu.Unlock()
	c.describe(src, reply, coding)
	if err := c.link.client.Request(&proto.CorkRecordStream{StreamIndex: c.stream}, nil); err != nil {
		return &Fault{Kind: Died, Err: err, Text: "the sound server does not start the recording: " + err.Error()}
	}
	return nil
}

// describe settles what the path says of itself.
func (c *serverCapture) describe(src *proto.GetSourceInfoReply, reply proto.CreateRecordStreamReply, coding Coding) {
	c.sound = Sound{Path: "sound server", Device: src.SourceName, RateHz: float64(reply.Rate), Channels: int(reply.SampleSpec.Channels), Coding: coding,
		DeviceRate: float64(src.Rate), PathRate: float64(reply.Rate)}
	if src.Device != "" {
		c.sound.Device = src.Device + " (" + src.SourceName + ")"
	}
	if strings.Contains(src.Driver, "echo-cancel") {
		on := true
		c.sound.Echo = &on
	}
	if isMonitor(src) {
		c.note("this is no input: it is what programs play")
	}
	if src.Mute {
		c.note("the input is muted at the sound server")
	}
	if len(src.ChannelVolumes) > 0 {
		volume := float64(src.ChannelVolumes[0]) / float64(proto.VolumeNorm)
		c.note(fmt.Sprintf("the input's volume stands at %.0f %% at the sound server; a calibration holds for that alone", 100*volume))
	}
	if reply.SourceSuspended {
		c.note("the input was suspended when the capture began")
	}
}

// volumes are as they stand, for all channels.
func volumes(n int) proto.ChannelVolumes {
	out := make(proto.ChannelVolumes, n)
	for i := range out {
		out[i] = uint32(proto.VolumeNorm)
	}
	return out
}

// channelMap is the usual one for so many channels.
func channelMap(n int) proto.ChannelMap {
	switch n {
	case 1:
		return proto.ChannelMap{proto.ChannelMono}
	case 2:
		return proto.ChannelMap{proto.ChannelLeft, proto.ChannelRight}
	}
	out := make(proto.ChannelMap, n)
	for i := range out {
		out[i] = byte(proto.ChannelAux0 + i)
	}
	return out
}
